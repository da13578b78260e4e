"""A reading's first words that were taken for something else belong to it again."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.bridges import LESS_LIKELY
from lessoncut.matching.ground import DEFAULT_SCORE, Ground
from lessoncut.matching.lay import Weigh, nobody_weighs
from lessoncut.matching.records import ReadWord
from lessoncut.matching.squeezed import with_squeezed_words
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import weighing

LINE = "Well, not quite under it."
HEARD = """
    0.0  let me do that  1.0
    1.4  wow             1.8
    2.2  not quite under it  3.6
"""
SAID = HEARD.replace("wow ", "well")
SQUEEZED = DEFAULT_SCORE - 100.0
SOUND, REST = Span(1400, 1800), Span(2200, 3600)


class Aligner:
    """Lays words on what is said in its own words; those in front that are not there it squeezes into no time, or finds
    no place for them."""

    def __init__(self, said: str, squeezed: float | None) -> None:
        self.words, self.squeezed = told(said).words, squeezed

    def __call__(self, requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(Alignment(request, self._laid(request)) for request in requests)

    def _laid(self, request: AlignmentRequest) -> tuple[AlignedWord, ...]:
        inside = [word for word in self.words if request.window.contains(word.span.middle_ms)][-len(request.words) :]
        missing = len(request.words) - len(inside)
        score = DEFAULT_SCORE if self.squeezed is None else self.squeezed
        if missing and self.squeezed is None:
            return ()
        first_ms = inside[0].span.start_ms
        spans = [Span(first_ms - 30 * left, first_ms - 30 * (left - 1)) for left in range(missing, 0, -1)]
        front = [AlignedWord(text, span, score) for text, span in zip(request.words, spans, strict=False)]
        rest = zip(request.words[missing:], inside, strict=True)
        return (*front, *(AlignedWord(text, word.span, DEFAULT_SCORE) for text, word in rest))


def settled(
    *,
    heard: str = HEARD,
    said: str = SAID,
    squeezed: float | None = SQUEEZED,
    talk: Span = SOUND,
    as_start: bool = False,
    as_line: str = "",
    weigh: Weigh = nobody_weighs,
) -> tuple[list[Attempt], list[Unscripted]]:
    """What becomes of talk, or a start, or another line, before what is taken for the whole line."""
    hearing = told(heard)
    ground = Ground(script(f"{LINE}\n{as_line}"), hearing, Aligner(said, squeezed), 150.0, weigh=weigh)
    texts = ground.spoken_words[0]
    marks = [REST.start_ms + REST.length_ms * at // len(texts) for at in range(len(texts) + 1)]
    words = tuple(ReadWord(text, Span(*between), None) for text, between in zip(texts, pairwise(marks), strict=True))
    line = Attempt(0, True, len(texts), words, ground.heard_near(REST), 0.2, laid=True)
    before = ground.heard_near(talk)
    if as_line:
        row = tuple(ReadWord(text, talk, None) for text in ground.spoken_words[1])
        return with_squeezed_words(ground, [Attempt(1, True, len(row), row, before, 2.5, laid=True), line], [])
    if as_start:
        start = Attempt(0, False, 1, (ReadWord(texts[0], talk, None),), before, 0.2, laid=True)
        return with_squeezed_words(ground, [start, line], [])
    return with_squeezed_words(ground, [line], [Unscripted(talk, before)])


@pytest.mark.parametrize("squeezed", [SQUEEZED, None])
@pytest.mark.parametrize("as_start", [False, True])
def test_what_was_taken_for_talk_or_a_start_is_the_lines_first_word(as_start: bool, squeezed: float | None) -> None:
    (line,), left = settled(as_start=as_start, squeezed=squeezed)
    assert left == []
    assert line.span == SOUND.hull(REST)
    assert [word.text for word in line.heard] == ["wow", "not", "quite", "under", "it"]


@pytest.mark.parametrize(("again", "count"), [("", 1), ("well ", 2)])
def test_a_start_whose_word_was_heard_once_more_in_the_line_is_one(again: str, count: int) -> None:
    heard = SAID.replace("not quite", f"{again}not quite")
    attempts, _ = settled(heard=heard, as_start=True)
    assert len(attempts) == count


@pytest.mark.parametrize(("as_line", "lines"), [("Really?", [0]), ("Wow!", [1, 0])])
def test_so_is_what_was_taken_for_another_line_that_was_not_heard(as_line: str, lines: list[int]) -> None:
    attempts, _ = settled(as_line=as_line)
    assert [attempt.line for attempt in attempts] == lines


def test_talk_before_it_stays_talk() -> None:
    (line,), (talk,) = settled(talk=Span(0, 1800))
    assert line.span == SOUND.hull(REST)
    assert talk.span == Span(0, 1000)
    assert [word.text for word in talk.words] == ["let", "me", "do", "that"]


def test_what_is_said_in_the_reading_as_well_is_said_twice() -> None:
    (line,), left = settled(squeezed=DEFAULT_SCORE - 20.0)
    assert left
    assert line.span == REST


def test_behind_a_long_pause_a_line_begins_anew() -> None:
    earlier = Span(600, 1000)
    heard, said = (f"0.6  {word}  1.0\n2.2  not quite under it  3.6" for word in ("wow", "well"))
    (line,), left = settled(heard=heard, said=said, talk=earlier)
    assert [talk.span for talk in left] == [earlier]
    assert line.span == REST


def test_more_sound_than_the_word_has_is_talk() -> None:
    talk = Span(800, 1800)
    heard = "0.8  oh dear me  1.8\n2.2  not quite under it  3.6"
    said = "0.8  well  1.0\n2.2  not quite under it  3.6"
    (line,), left = settled(heard=heard, said=said, talk=talk)
    assert [each.span for each in left] == [talk]
    assert line.span == REST


def test_what_is_part_of_a_reading_by_now_begins_no_other() -> None:
    """Of two readings in a row that were not heard, the first takes what stands before it."""
    heard = "0.4  well  0.8\n1.2  not quite under it  2.6\n3.0  not quite under it  4.4"
    hearing, aligner = told(heard), Aligner(heard.replace("3.0  not ", "3.0  "), SQUEEZED)
    ground = Ground(script(LINE), hearing, aligner, 150.0)
    texts, spans = ground.spoken_words[0], (Span(1200, 2600), Span(3000, 4400))
    rows = [tuple(ReadWord(text, span, None) for text in texts) for span in spans]
    unheard = [Attempt(0, True, len(texts), row, hearing.words[:1], 0.2, laid=True) for row in rows]
    found, left = with_squeezed_words(ground, unheard, [Unscripted(Span(400, 800), hearing.words[:1])])
    assert left == []
    assert [reading.span for reading in found] == [Span(400, 2600), spans[1]]


@pytest.mark.parametrize(("less", "there"), [(LESS_LIKELY - 0.1, True), (LESS_LIKELY + 0.1, False)])
def test_words_that_the_recogniser_finds_in_the_reading_are_there(less: float, there: bool) -> None:
    """However badly they lie."""
    rest = "not quite under it."
    attempts, left = settled(weigh=weighing({LINE: -9.0 - less, rest: -9.0}))
    assert attempts[-1].span.start_ms == (REST.start_ms if there else SOUND.start_ms)
    assert bool(left) is there
