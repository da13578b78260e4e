"""A start that runs into its line without a pause is found; a word held long and a line's own echo are none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest, HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching import restarts
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding, weighing

VERA = ("vera", "waits", "beside", "the", "water")
SPEECH = Span(2000, 4100)
ONCE = (2000, 2800, 3000, 3400, 3500, 4100)
"""Where the words lie, each up to the next, when "Vera" is laid over both of hers."""
TWICE = (2000, 2300, 2500, 2800, 3000, 3400, 3500, 4100)
THRICE = (2000, 2200, 2300, 2500, 2800, 3000, 3400, 3500, 4100)
"""With two of them, and with three, said twice."""


def laid_at(edges_ms: Sequence[int], words: Sequence[str] = VERA) -> tuple[Span, ...]:
    spans = tuple(Span(*between) for between in pairwise(edges_ms))
    assert len(spans) == len(words)
    return spans


def attempt(spans: Sequence[Span], *, full: bool = True, score: float = -25.0) -> Attempt:
    words = tuple(ReadWord(text, span, text) for text, span in zip(VERA, spans, strict=False))
    return Attempt(1, full, len(words), words, (), 0.0, laid=True, score=score)


def answering(twice: dict[int, tuple[Sequence[int], float]]) -> tuple[list[AlignmentRequest], Ground]:
    """What was asked, and a ground whose aligner knows the words with so many said twice: where they lie, and how well.

    Other numbers of words have no path.
    """
    asked: list[AlignmentRequest] = []

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        asked.extend(requests)
        return tuple(answer(request) for request in requests)

    def answer(request: AlignmentRequest) -> Alignment:
        count = len(request.words) - len(VERA)
        if request.words != (*VERA[:count], *VERA) or count not in twice:
            return Alignment(request, ())
        edges_ms, score = twice[count]
        spans = laid_at(edges_ms, request.words)
        return Alignment(request, tuple(map(AlignedWord, request.words, spans, [score] * len(spans))))

    hearing = replace(told("2.0  vera waits beside the water  4.1"), speech=(SPEECH,))
    return asked, Ground(script(FERRY), hearing, ask, syllable_ms=200.0)


def test_first_words_that_last_too_long_and_fit_said_twice_are_a_start_and_the_line() -> None:
    asked, ground = answering({2: (TWICE, -15.0), 3: (THRICE, -24.0)})
    start, line = restarts.with_restarts(ground, [attempt(laid_at(ONCE))])
    assert (start.full, start.texts, start.span) == (False, VERA[:2], Span(2000, 2500))
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2500, 4100))
    assert [word.heard for word in line.words] == list(VERA)
    assert [word.heard for word in start.words] == [None, None]
    assert len(asked) == 4 + 6  # begun anew after each of four words, and gone on with from a later one


def test_words_that_last_as_long_in_the_other_reading_are_her_way() -> None:
    """She draws the name out each time: no start is looked for, but where it lasts longer still."""
    asked, ground = answering({2: (TWICE, -15.0), 3: (THRICE, -24.0)})
    readings = [attempt(laid_at(ONCE)), attempt(laid_at([at_ms + 10_000 for at_ms in ONCE]))]
    both = replace(ground.hearing, speech=(SPEECH, Span(12_000, 14_100)), duration_ms=20_000)
    assert restarts.with_restarts(replace(ground, hearing=both), readings) == readings
    assert not asked
    quicker = attempt(laid_at([at_ms + 10_000 for at_ms in (2000, 2500, 2700, 3100, 3200, 4100)]))
    parts = restarts.with_restarts(replace(ground, hearing=both), [readings[0], quicker])
    assert [part.full for part in parts] == [False, True, True]


def test_words_that_fit_no_better_said_twice_were_said_once() -> None:
    """A word held long lasts as long; its sound gains nothing by a second one, or little."""
    whole = attempt(laid_at(ONCE))
    for score, questions in ((-40.0, 2), (-25.0, 2), (-23.0, 4)):
        asked, ground = answering({2: (TWICE, score), 3: (THRICE, score)})
        assert restarts.with_restarts(ground, [whole]) == [whole]
        assert len(asked) == questions


def test_speech_between_the_words_that_no_word_accounts_for_speaks_for_a_start() -> None:
    """The aligner took the second "Vera waits" for a silence, and the words it laid fit well."""
    spans = (Span(2000, 2300), Span(2300, 2500), *laid_at((3000, 3400, 3500, 4100), VERA[2:]))
    whole = attempt(spans, score=-15.0)
    _, ground = answering({2: (TWICE, -15.0), 3: (THRICE, -20.0)})
    (twice,) = ground.align([ground.request(1, (*VERA[:2], *VERA), SPEECH)])
    assert restarts.gain(ground, whole, twice) == 50 * (50 - 15)  # half a second's frames, no longer unsaid
    assert [part.full for part in restarts.with_restarts(ground, [whole])] == [False, True]
    # A pause there is no speech.
    hearing = replace(ground.hearing, speech=(Span(2000, 2500), Span(3000, 4100)))
    assert restarts.with_restarts(replace(ground, hearing=hearing), [whole]) == [whole]


@pytest.mark.parametrize(
    "whole",
    [
        attempt(laid_at((2000, 2400, 2700, 3100, 3200, 4100))),
        attempt(laid_at(ONCE)[:4], full=False),
        replace(attempt(laid_at(ONCE)), laid=False),
    ],
    ids=["at her pace", "broken off", "as heard"],
)
def test_only_laid_lines_that_begin_too_slowly_are_asked_about(whole: Attempt) -> None:
    asked, ground = answering({2: (TWICE, -15.0), 3: (THRICE, -15.0)})
    assert restarts.with_restarts(ground, [whole]) == [whole]
    assert not asked


def test_a_start_without_a_pause_is_found_in_the_take() -> None:
    """The recogniser gives the words once; nothing parts the two, and the line is laid over both of its beginnings."""
    said = """
        0.0  the ferry leaves at seven                       1.5
        2.0  vera waits beside vera waits beside the water  4.1
        5.0  a woman waves from the window                   7.0
    """
    heard = said.replace("vera waits beside vera", "vera")
    perfect = sounding(said)

    def stretching(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        """As real aligners do, it stretches the first word over all the sound before the second."""
        return tuple(
            _from(answer, SPEECH.start_ms) if answer.request.words == VERA else answer for answer in perfect(requests)
        )

    settled = settle(Ground(script(FERRY), told(heard), stretching))
    found = [(attempt.line, attempt.full, attempt.texts) for attempt in settled.attempts]
    assert found[1:3] == [(1, False, VERA[:3]), (1, True, VERA)]
    assert [line for line, _, _ in found] == [0, 1, 1, 2]


def _from(answer: Alignment, start_ms: int) -> Alignment:
    if not answer.words:
        return answer
    first, *others = answer.words
    stretched = replace(first, span=Span(start_ms, first.span.end_ms), score=-50.0)
    return replace(answer, words=(stretched, *others))


def knowing(rows: dict[tuple[str, ...], tuple[Sequence[int], float]]) -> Ground:
    """A ground whose aligner knows where these rows of words lie and how well; others have no path."""

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(answer(request) for request in requests)

    def answer(request: AlignmentRequest) -> Alignment:
        if request.words not in rows:
            return Alignment(request, ())
        edges_ms, score = rows[request.words]
        spans = laid_at(edges_ms, request.words)
        return Alignment(request, tuple(map(AlignedWord, request.words, spans, [score] * len(spans))))

    hearing = replace(told("2.0  vera waits beside the water  4.1"), speech=(SPEECH,))
    return Ground(script(FERRY), hearing, ask, syllable_ms=200.0)


ANEW = (*VERA[:3], *VERA)
GOES_ON = (*VERA[:3], *VERA[1:])
ANEW_AT = (2000, 2200, 2400, 2600, 2700, 2900, 3100, 3500, 4100)
GOES_ON_AT = (2000, 2250, 2500, 2700, 2900, 3100, 3500, 4100)


def test_a_line_gone_on_with_from_a_later_word_stays_whole() -> None:
    """ "Vera waits beside, waits beside the water" is one reading with a stumble, and no start of three words."""
    ground = knowing({ANEW: (ANEW_AT, -21.0), GOES_ON: (GOES_ON_AT, -15.0)})
    (line,) = restarts.with_restarts(ground, [attempt(laid_at(ONCE), score=-30.0)])
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2000, 4100))
    assert [(change.script, change.heard) for change in line.changes] == [(VERA[1:3], VERA[1:3] * 2)]


@pytest.mark.parametrize(("score", "found"), [(-15.0, True), (-26.0, False)])
def test_words_said_twice_in_the_middle_of_a_line_are_a_stumble(score: float, found: bool) -> None:
    """ "Vera waits beside, beside the water" lasts too long in its middle, and fits better with two of the word."""
    twice = (*VERA[:3], *VERA[2:])
    slow_at = (2000, 2250, 2500, 3400, 3600, 4100)
    ground = knowing({twice: ((2000, 2250, 2500, 2900, 3400, 3600, 4100), score)})
    (line,) = restarts.with_restarts(ground, [attempt(laid_at(slow_at), score=-25.0)])
    assert [change.heard for change in line.changes] == ([("beside", "beside")] if found else [])
    (usual,) = restarts.with_restarts(ground, [attempt(laid_at((2000, 2250, 2500, 3000, 3300, 4100)), score=-25.0)])
    assert not usual.changes


@pytest.mark.parametrize(("less", "found"), [(restarts.MOST_UNLIKELY - 1, True), (restarts.MOST_UNLIKELY + 1, False)])
def test_a_stumble_that_the_recogniser_finds_far_less_likely_is_none(less: float, found: bool) -> None:
    """It leaves words said twice out by itself, but not so surely."""
    twice = (*VERA[:3], *VERA[2:])
    ground = knowing({twice: ((2000, 2250, 2500, 2900, 3400, 3600, 4100), -15.0)})
    once = ground.script.lines[1].text
    ground = replace(ground, weigh=weighing({once: -4.0, once.replace("beside", "beside beside"): -4.0 - less}))
    (line,) = restarts.with_restarts(ground, [attempt(laid_at((2000, 2250, 2500, 3400, 3600, 4100)), score=-25.0)])
    assert bool(line.changes) is found


def test_a_word_that_was_not_said_beside_them_makes_no_stumble() -> None:
    """A number said in a way not known lies badly, and its neighbours are stretched over what was said instead."""
    twice = (*VERA[:3], *VERA[2:])
    edges_ms = (2000, 2250, 2500, 2900, 3400, 3600, 4100)

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(answer(request) for request in requests)

    def answer(request: AlignmentRequest) -> Alignment:
        if request.words != twice:
            return Alignment(request, ())
        scores = (-15.0, -55.0, -5.0, -5.0, -15.0, -15.0)
        return Alignment(request, tuple(map(AlignedWord, twice, laid_at(edges_ms, twice), scores)))

    ground = replace(knowing({}), align=ask)
    (line,) = restarts.with_restarts(ground, [attempt(laid_at((2000, 2250, 2500, 3400, 3600, 4100)), score=-25.0)])
    assert not line.changes


def pair(heard: str) -> list[Attempt]:
    """A start of three words, and the whole line laid on what follows, of which this was heard."""
    start = attempt(laid_at((2000, 2250, 2500, 2700), VERA[:3]), full=False)
    line = attempt(laid_at((2700, 2750, 2900, 3100, 3500, 4100)))
    words = tuple(HeardWord(word, Span(2800, 2900), 0.9) for word in heard.split())
    return [start, replace(line, heard=words, doubt=1.7)]


@pytest.mark.parametrize("heard", ["waits beside the water", "veer beside the water"])
def test_a_start_and_a_line_that_goes_on_are_one_reading(heard: str) -> None:
    """Also where a word like the line's first one was heard, but not those that come after it."""
    ground = knowing({ANEW: (ANEW_AT, -18.0), GOES_ON: (GOES_ON_AT, -15.0)})
    (line,) = restarts.with_stumbles(ground, pair(heard))
    assert (line.full, line.span) == (True, Span(2000, 4100))
    assert [change.heard for change in line.changes] == [VERA[1:3] * 2]


@pytest.mark.parametrize(
    ("heard", "anew", "goes_on"),
    [("vera waits beside the water", -18.0, -15.0), ("waits beside the water", -15.0, -15.0)],
    ids=["its first word was heard", "the sound is of its first word, too"],
)
def test_a_line_begun_anew_is_a_start_and_the_line(heard: str, anew: float, goes_on: float) -> None:
    ground = knowing({ANEW: (ANEW_AT, anew), GOES_ON: (GOES_ON_AT, goes_on)})
    attempts = pair(heard)
    assert restarts.with_stumbles(ground, attempts) == attempts


LATE = (2500, 2800, 3000, 3400, 3500, 4100)
"""Where the line lies alone, behind what she began in the same breath."""


def test_what_begins_a_lines_breath_with_its_first_words_is_a_start() -> None:
    _, ground = answering({2: (TWICE, -15.0), 3: (THRICE, -24.0)})
    start, line = restarts.with_starts_before(ground, [attempt(laid_at(LATE), score=-15.0)])
    assert (start.full, start.texts, start.span) == (False, VERA[:2], Span(2000, 2500))
    assert (line.full, line.span) == (True, Span(2500, 4100))


@pytest.mark.parametrize(
    ("speech", "score", "earlier", "asked"),
    [
        ((SPEECH,), -45.0, None, 4),  # the sound speaks for other words
        ((Span(2450, 4100),), -15.0, None, 0),  # hardly any sound before
        ((Span(1000, 4100),), -15.0, None, 0),  # too much of it
        ((Span(2000, 2300), Span(2400, 4100)), -15.0, None, 0),  # a pause between
        ((SPEECH,), -15.0, Span(1900, 2440), 0),  # it is the end of another line
        ((SPEECH,), -15.0, Span(1900, 2200), 0),  # it goes on from a start
    ],
    ids=["other words", "little", "much", "pause", "another line", "a start"],
)
def test_other_sound_before_a_line_is_no_start(
    speech: tuple[Span, ...], score: float, earlier: Span | None, asked: int
) -> None:
    requests, ground = answering({2: (TWICE, score)})
    ground = replace(ground, hearing=replace(ground.hearing, speech=speech))
    before = [replace(attempt([earlier], full=False), line=0)] if earlier else []
    attempts = [*before, attempt(laid_at(LATE), score=-15.0)]
    assert restarts.with_starts_before(ground, attempts) == attempts
    assert len(requests) == asked
