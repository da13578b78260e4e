"""Lines known by how she says them elsewhere in the take, where the script's words do not tell."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.examples import (
    ABOUT_AS_LONG,
    LACKING_MS,
    NEAR_AND_ALIKE,
    NEAR_AND_LIKE,
    SO_NEAR,
    with_lines_by_example,
    with_lines_heard_alike,
    with_lines_that_sound_so,
)
from lessoncut.matching.ground import DEFAULT_SCORE, Ground
from lessoncut.matching.lay import Likeness
from lessoncut.matching.records import ReadWord
from lessoncut.matching.speakers import VoiceOf
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import CLEAR, Like, scoring
from tests.matching.test_speakers import Colour

QUIZ = "Bats are blind.\nFalse.\nIce floats.\nTrue."
SAID = """
    0.0  bats are blind   1.0
    2.0  ~vols            2.7
    4.0  ice floats       5.0
    6.0  true             6.7
   10.0  bats are blind  11.0
   12.0  ~volser         12.7
   14.0  ice floats      15.0
   16.0  true            16.7
"""
FALSE = (Span(2000, 2700), Span(12_000, 12_700))


def ground(score: float = CLEAR - 25, said: str = SAID) -> Ground:
    """ "False" lies everywhere as poorly as that."""
    return Ground(script(QUIZ), told(said), scoring(lambda request, _: score if "false" in request.words else CLEAR))


def reading(here: Ground, line: int, span: Span, *, upto: int | None = None, doubt: float = 0.3) -> Attempt:
    texts = here.spoken_words[line][:upto]
    words = tuple(ReadWord(text, span, None) for text in texts)
    return Attempt(line, upto is None, len(words), words, (), doubt, laid=True, score=CLEAR)


def lines(here: Ground) -> list[Attempt]:
    """All but the second."""
    return [
        reading(here, line, Span(from_ms + at_ms, from_ms + at_ms + 700))
        for from_ms in (0, 10_000)
        for line, at_ms in ((0, 0), (2, 4000), (3, 6000))
    ]


def talk(span: Span, sure: float = 0.4, word: str = "vols") -> Unscripted:
    return Unscripted(span, (HeardWord(word, span, sure),))


def colours(*alike: Span) -> VoiceOf:
    """Those sound alike, and all else as something of its own."""
    return lambda span: Colour(0.0 if any(span.overlap_ms(each) for each in alike) else 5.0 + span.start_ms)


@pytest.mark.parametrize("sure", [0.4, 0.9])
def test_what_stands_in_its_place_in_every_pass_and_sounds_alike_is_the_line(sure: float) -> None:
    """Though the recogniser was sure of what is no word."""
    here = ground()
    found, left = with_lines_by_example(
        replace(here, voice_of=colours(*FALSE)), lines(here), [talk(span, sure) for span in FALSE]
    )
    assert [each.line for each in found] == [0, 1, 2, 3] * 2
    assert all(each.span.contains(span.middle_ms) for each, span in zip((found[1], found[5]), FALSE, strict=True))
    assert all(each.full for each in found)
    assert left == []


@pytest.mark.parametrize(("alike", "is_line"), [(FALSE, True), (FALSE[1:], False)])
def test_what_sounds_as_another_reading_of_the_missing_line_is_it(alike: tuple[Span, ...], is_line: bool) -> None:
    here = ground()
    attempts = sorted([*lines(here), reading(here, 1, FALSE[1])], key=lambda each: each.span)
    found, left = with_lines_by_example(replace(here, voice_of=colours(*alike)), attempts, [talk(FALSE[0])])
    assert [each.line for each in found] == ([0, 1, 2, 3] * 2 if is_line else [0, 2, 3, 0, 1, 2, 3])
    assert left == ([] if is_line else [talk(FALSE[0])])


def test_a_doubtful_start_may_be_it_with_all_the_speech_it_begins() -> None:
    here = ground()
    start = reading(here, 2, Span(2000, 2300), upto=1, doubt=2.0)
    attempts = sorted([*lines(here), start], key=lambda each: each.span)
    found, left = with_lines_by_example(replace(here, voice_of=colours(*FALSE)), attempts, [talk(FALSE[1])])
    assert [each.line for each in found] == [0, 1, 2, 3] * 2
    assert found[1].span.end_ms >= FALSE[0].end_ms
    assert left == []
    known = sorted([*lines(here), replace(start, doubt=1.0)], key=lambda each: each.span)
    assert with_lines_by_example(replace(here, voice_of=colours(*FALSE)), known, []) == (known, [])


@pytest.mark.parametrize(
    ("here", "talks"),
    [
        (ground(), [talk(span, 0.9, "again") for span in FALSE]),  # it may be said in its place twice
        (ground(CLEAR - 40), [talk(span) for span in FALSE]),  # nothing like it
        (ground(said=SAID.replace("12.7", "12.3")), [talk(FALSE[0]), talk(Span(12_000, 12_300))]),
        (ground(), [talk(FALSE[0])]),  # but once
        (ground(), [talk(Span(5100, 5800)), talk(Span(15_100, 15_800))]),  # where nothing is missing
    ],
    ids=["surely heard", "far off", "not as long", "once", "elsewhere"],
)
def test_other_talk_stays_talk(here: Ground, talks: list[Unscripted]) -> None:
    attempts = lines(here)
    alike = colours(*(each.span for each in talks))
    assert with_lines_by_example(replace(here, voice_of=alike), attempts, talks) == (attempts, talks)


@pytest.mark.parametrize(("heard", "is_line"), [("I", True), ("again", False)])
def test_where_the_missing_line_lies_as_well_as_others_a_small_word_heard_is_nothing(heard: str, is_line: bool) -> None:
    """A recogniser that has run into a loop hears "I" surely."""
    here = ground(DEFAULT_SCORE)
    sure = Unscripted(FALSE[0], (HeardWord(heard, FALSE[0], 0.98),))
    found, left = with_lines_by_example(replace(here, voice_of=colours()), lines(here), [sure])
    assert [each.line for each in found] == ([0, 1, 2, 3, 0, 2, 3] if is_line else [0, 2, 3] * 2)
    assert left == ([] if is_line else [sure])


def test_between_two_lines_a_word_of_neither_is_missing() -> None:
    """The end of one pass and the beginning of the next: only the lines at their edges may be."""
    here = ground()
    passes = [each for each in lines(here) if each.line != 3]
    last = (Span(6000, 6700), Span(16_000, 16_700))
    found, left = with_lines_by_example(replace(here, voice_of=colours(*last)), passes, [talk(span) for span in last])
    assert [each.line for each in found] == [0, 2, 0, 2]  # the second one has no reading behind it
    assert len(left) == 2


CRATES = "The van is late.\nGreta's great green crates.\nNobody waves.\nThe van is here."
HEARD = """
    0.0  the van is late         1.0
    2.0  ~reach as great in place  3.5
    4.0  nobody waves            5.0
   10.0  the van is late        11.0
   12.0  greta's great green crates  13.5
   14.0  nobody waves           15.0
   16.0  the van is here        17.0
"""


def crates(near: float, heard: str = HEARD) -> tuple[Ground, list[Attempt], list[Unscripted]]:
    """The talk is so far from the second line's only reading, where two readings of a line are 2 apart."""
    talked = Span(2000, 3500)

    def compare(span: Span, other: Span) -> Like:
        part = any(talked.contains(each.middle_ms) and each != talked for each in (span, other))
        return Like(9.0 if part else near if talked in (span, other) else 2.0)

    here = replace(Ground(script(CRATES), told(heard), scoring(lambda *_: CLEAR)), compare=compare)
    rows = ((0, 0, 1000), (2, 4000, 5000), (0, 10_000, 11_000), (1, 12_000, 13_500), (2, 14_000, 15_000))
    attempts = [reading(here, line, Span(*edges)) for line, *edges in rows]
    words = tuple(word for word in here.hearing.words if talked.contains(word.span.middle_ms))
    return here, attempts, [Unscripted(talked, words)]


@pytest.mark.parametrize(("near", "is_line"), [(2 * SO_NEAR - 0.1, True), (2 * SO_NEAR + 0.1, False)])
def test_whatever_was_heard_what_sounds_as_the_missing_line_is_it(near: float, is_line: bool) -> None:
    here, attempts, left = crates(near)
    found, rest = with_lines_that_sound_so(here, attempts, left)
    assert [each.line for each in found] == ([0, 1, 2, 0, 1, 2] if is_line else [0, 2, 0, 1, 2])
    assert rest == ([] if is_line else left)
    if is_line:
        assert found[1].full
        assert found[1].heard == left[0].words


@pytest.mark.parametrize(
    ("lacking_ms", "talk_behind", "is_line"),
    [(LACKING_MS - 10, False, True), (LACKING_MS, False, False), (LACKING_MS, True, True)],
)
def test_what_lacks_the_end_of_the_missing_line_is_a_start(lacking_ms: int, talk_behind: bool, is_line: bool) -> None:
    """But where talk behind it may be that end."""
    here, attempts, left = crates(0.1)
    others = [talk(Span(3600, 3800))] if talk_behind else []
    known = here.compare

    def compare(span: Span, other: Span) -> Likeness | None:
        likeness = known(span, other)
        if isinstance(likeness, Like) and span == left[0].span:
            return replace(likeness, lacking_ms=lacking_ms)
        return likeness

    found, _ = with_lines_that_sound_so(replace(here, compare=compare), attempts, [*left, *others])
    assert [each.line for each in found] == ([0, 1, 2, 0, 1, 2] if is_line else [0, 2, 0, 1, 2])


def test_nothing_is_a_line_without_a_measure_or_where_none_is_missing() -> None:
    """No line is read twice; it lasts too short; nobody compares; it was clearly heard; the line is there."""
    here, attempts, left = crates(0.1)
    once = attempts[:2] + attempts[3:4]
    assert with_lines_that_sound_so(here, once, left) == (once, left)
    short = [replace(left[0], span=Span(2000, 2000 + round(1500 * ABOUT_AS_LONG[0]) - 10))]
    assert with_lines_that_sound_so(here, attempts, short) == (attempts, short)
    deaf = Ground(here.script, here.hearing, here.align)
    assert with_lines_that_sound_so(deaf, attempts, left) == (attempts, left)
    clear = [replace(left[0], words=tuple(replace(word, probability=0.9) for word in left[0].words))]
    assert with_lines_that_sound_so(here, attempts, clear) == (attempts, clear)
    there = sorted([*attempts, reading(here, 1, Span(3500, 3900))], key=lambda each: each.span)
    assert with_lines_that_sound_so(here, there, left) == (there, left)


def test_of_talk_and_what_follows_it_the_nearest_is_the_line_once() -> None:
    here, attempts, _ = crates(0.1)
    first, second = Span(2000, 2700), Span(2800, 3500)

    def compare(span: Span, _: Span) -> Like:
        return Like({first: 1.5, second: 1.4, Span(2000, 3500): 1.2}.get(span, 2.0))

    longer = replace(here, compare=compare)
    talk_of_two = [talk(first), talk(second)]
    found, rest = with_lines_that_sound_so(longer, attempts, talk_of_two)
    assert [each.line for each in found] == [0, 1, 2, 0, 1, 2]
    assert found[1].span.overlap_ms(Span(2000, 3500)) == 1500
    assert rest == []


IN_ONE_BREATH = HEARD.replace("reach as great in place  3.5", "much better now said  2.8\n2.8  {}  3.9")
BREATH = Span(2000, 3900)


@pytest.mark.parametrize(
    ("heard", "apart", "is_line"),
    [
        ("~over in the lake", SO_NEAR - 0.1, True),
        ("~over in the lake", SO_NEAR + 0.1, False),
        ("greta's great brown crates", SO_NEAR + 0.1, True),
        ("greta's great brown crates", NEAR_AND_LIKE + 0.1, False),
    ],
)
def test_the_missing_line_may_stand_at_the_end_of_talk(heard: str, apart: float, is_line: bool) -> None:
    """However clearly the talk was heard; what is so nearly its words may sound less like it."""
    said = IN_ONE_BREATH.format(heard)

    def compare(span: Span, other: Span) -> Like:
        start_ms = min(span.start_ms, other.start_ms, key=lambda ms: abs(ms - 2800))
        return Like(2.0 * apart if start_ms == 2800 else 9.0 if BREATH.contains(start_ms) else 2.0)

    here, attempts, _ = crates(0.1, said)
    here = replace(here, compare=compare)
    words = tuple(word for word in here.hearing.words if BREATH.contains(word.span.middle_ms))
    left = [Unscripted(BREATH, words)]
    found, rest = with_lines_that_sound_so(here, attempts, left)
    assert [each.line for each in found] == ([0, 1, 2, 0, 1, 2] if is_line else [0, 2, 0, 1, 2])
    if is_line:
        assert [word.text for word in found[1].heard] == heard.lstrip("~").split()
        assert [" ".join(word.text for word in talk.words) for talk in rest] == ["much better now said"]
    else:
        assert rest == left


def test_a_line_whose_readings_nobody_can_compare_does_not_count() -> None:
    """They are too short."""
    here, attempts, left = crates(2.0)
    known = here.compare

    def compare(span: Span, other: Span) -> Likeness | None:
        return None if {span, other} <= {attempts[0].span, attempts[2].span} else known(span, other)

    found, rest = with_lines_that_sound_so(replace(here, compare=compare), attempts, left)
    assert [each.line for each in found] == [0, 1, 2, 0, 1, 2]
    assert rest == []


NAMED = """
    0.0  the van is late        1.0
    2.0  ~reach as great in place  3.5
    4.0  nobody waves           5.0
   10.0  the van is late       11.0
   12.0  {}  13.5
   14.0  ~reach as great in place  15.5
   16.0  nobody waves          17.0
"""


@pytest.mark.parametrize(
    ("heard", "near", "rest"),
    [
        ("~reach as great in place", NEAR_AND_ALIKE, ""),
        ("~reach is great in place", NEAR_AND_ALIKE, ""),
        ("sorry ~reach as great in place", NEAR_AND_ALIKE, "sorry"),
        ("~reach as great in place", NEAR_AND_ALIKE + 0.1, None),  # it sounds otherwise
        ("~much better now said", NEAR_AND_ALIKE, None),  # other words were heard
    ],
)
def test_what_was_heard_as_another_reading_of_the_line_beside_it_is_that_line_again(
    heard: str, near: float, rest: str | None
) -> None:
    """Whatever the script has there; ``rest``: what is left of the talk, None where all of it stays."""
    place = Span(12_000, 13_500)

    def compare(span: Span, other: Span) -> Like:
        return Like(2.0 * near if place.overlap_ms(span) or place.overlap_ms(other) else 2.0)

    here = Ground(script(CRATES), told(NAMED.format(heard)), scoring(lambda *_: CLEAR), compare=compare)
    rows = ((0, 0, 1000), (1, 2000, 3500), (2, 4000, 5000), (0, 10_000, 11_000), (1, 14_000, 15_500))
    lines = [reading(here, line, Span(*edges)) for line, *edges in (*rows, (2, 16_000, 17_000))]
    attempts = [
        replace(each, heard=tuple(word for word in here.hearing.words if each.span.contains(word.span.middle_ms)))
        for each in lines
    ]
    words = tuple(word for word in here.hearing.words if place.contains(word.span.middle_ms))
    left = [Unscripted(place, words)]
    found, talk = with_lines_heard_alike(here, attempts, left)
    again = [each for each in found if each not in attempts]
    assert [(each.line, each.full) for each in again] == ([] if rest is None else [(1, True)])
    told_of = " ".join(word.text for each in talk for word in each.words)
    assert told_of == (heard.replace("~", "") if rest is None else rest)


def test_where_all_was_heard_as_the_script_nothing_is_heard_alike() -> None:
    here, attempts, left = crates(0.1)
    assert with_lines_heard_alike(here, attempts, left) == (attempts, left)
