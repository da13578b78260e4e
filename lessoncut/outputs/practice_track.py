"""The practice track as AAC."""

from __future__ import annotations

from lessoncut.outputs.base import Recording
from lessoncut.outputs.practice import practice_needs, write_practice

OUTPUT = Recording(
    name="practice-track",
    says="the repeat pass to practise with, a chapter a line",
    suffix=".m4a",
    make=write_practice,
    needs=practice_needs,
)
