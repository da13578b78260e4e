"""What a hypothesis stands on, where a breath stands before the line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.ground import CONTEXT_MS, EDGE_MS, Ground, past_breath
from lessoncut.times import Span, SpanIndex
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

HEARD = "2.0  the ferry leaves at seven  4.0"
BREATH = Span(1700, 1950)


def test_the_aligner_is_given_no_breath_to_lay_words_on() -> None:
    plain = Ground(script(FERRY), told(HEARD), sounding(HEARD))
    assert plain.window(Span(2000, 4000)).start_ms == 2000 - CONTEXT_MS
    breathing = replace(plain, hearing=replace(plain.hearing, breaths=(BREATH,)))
    assert breathing.window(Span(2000, 4000)).start_ms == BREATH.end_ms
    assert breathing.window(Span(1750, 4000)).start_ms == BREATH.end_ms


@pytest.mark.parametrize(
    ("stretch", "start_ms"),
    [
        (Span(1700 - EDGE_MS, 4000), 1950),  # begins at it, as roughly as words are laid
        (Span(1800, 4000), 1950),
        (Span(1950, 4000), 1950),
        (Span(1000, 4000), 1000),  # the breath is drawn inside it
        (Span(1750, 1900), 1750),  # and it inside the breath
    ],
)
def test_a_stretch_begins_behind_its_breath(stretch: Span, start_ms: int) -> None:
    assert past_breath(SpanIndex([BREATH]), stretch) == Span(start_ms, stretch.end_ms)
    assert past_breath(SpanIndex([]), stretch) == stretch
