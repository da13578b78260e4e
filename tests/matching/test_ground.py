"""What a hypothesis stands on, where a breath stands before the line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.ground import CONTEXT_MS, EDGE_MS, Ground, past_breath
from lessoncut.matching.lay import Candidate
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


@pytest.mark.parametrize(
    ("upto", "from_word", "written"),
    [
        (3, 0, "We meet at"),
        (4, 0, "We meet at six"),  # as far as that
        (5, 0, "We meet at 6:15"),
        (6, 0, "We meet at 6:15 \N{EN DASH} on"),
        (8, 0, "We meet at 6:15 \N{EN DASH} on the second"),
        (10, 0, "We meet at 6:15 \N{EN DASH} on 2 June."),
        (10, 3, "6:15 \N{EN DASH} on 2 June."),
        (10, 8, "2 June."),  # from where it is written
    ],
)
def test_the_first_words_of_a_number_are_written_in_letters(upto: int, from_word: int, written: str) -> None:
    ground = Ground(script("We meet at 6:15 \N{EN DASH} on 2 June."), told(HEARD), sounding(HEARD))
    assert ground.spoken_words[0] == ("we", "meet", "at", "six", "fifteen", "on", "the", "second", "of", "june")
    assert ground.written(Candidate(0, upto, Span(0, 1000)), from_word) == written


def test_a_line_may_break_off_within_a_number() -> None:
    ground = Ground(script("We meet at 6:15."), told("2.0  we meet at sick  4.0"), sounding(HEARD))
    like = ground.beginnings_like(0, Span(2000, 4000), ground.hearing.words)
    assert [each.upto for each in like] == [2, 3, 4]  # not far shorter than what was heard
