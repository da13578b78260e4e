"""The practice track as MP3: chapters stand in its ID3v2 tag (CHAP and CTOC)."""

from __future__ import annotations

from lessoncut.outputs.base import Recording
from lessoncut.outputs.practice import practice_needs, write_practice

OUTPUT = Recording(
    name="practice-track-mp3",
    says="the practice track for any player",
    suffix=".mp3",
    make=write_practice,
    needs=practice_needs,
)
