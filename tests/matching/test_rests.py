"""A line broken at its comma whose rest sounds much like another line; two starts in one breath that are the line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import RUNS_ON_MS, Ground
from lessoncut.matching.lay import nobody_begins
from lessoncut.matching.noises import NOT_HERS
from lessoncut.matching.records import ReadWord
from lessoncut.matching.rests import (
    HARDLY_FURTHER,
    HARDLY_LACKING_MS,
    LONG_COMMA_MS,
    LOWER_UNVOICED,
    with_own_rests,
    with_rests_hardly_voiced,
    with_rests_in_talk,
    with_starts_gone_on,
)
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import Begun, sounding
from tests.matching.test_speakers import Colour

QUEUE = """
    The ferry leaves at seven.
    Thank you for waiting, you are number fourteen in the queue.
    You are number thirteen in the queue.
    The river is wide and very cold.
    Vera waits beside the water.
"""
SAID = """
    0.0  the ferry leaves at seven                1.5
    2.5  thank you for waiting                    3.7
    4.3  you are number fourteen in the queue     6.2
    8.0  you are number thirteen in the queue     9.9
   11.0  the river is wide and very cold         13.0
   14.0  vera waits beside the water             15.5
"""


@pytest.mark.parametrize(("second", "lines"), [("fourteen", [0, 1, 2, 3, 4]), ("thirteen", [0, 1, 2, 2, 3, 4])])
def test_a_starts_own_rest_is_not_the_line_that_is_like_it(second: str, lines: list[int]) -> None:
    said = SAID.replace("fourteen", second)
    settled = settle(Ground(script(QUEUE), told(said), sounding(said)))
    assert [attempt.line for attempt in settled.attempts] == lines
    assert settled.attempts[1].full == (second == "fourteen")


COMMAS = """
    The ferry leaves at seven.
    Both begin with a full stop, tongue up, nothing moving.
    The river is wide and very cold.
    Vera waits beside the water.
"""
STOPPED = """
    0.0  the ferry leaves at seven        1.5
    3.0  both begin with a full stop      4.8
    5.3  tongue up                        5.9
    6.3  nothing moving                   7.3
   10.0  the river is wide and very cold  12.0
   15.0  vera waits beside the water      16.5
"""


def test_a_rest_in_two_parts_of_which_one_was_misheard_is_the_lines() -> None:
    heard = STOPPED.replace("tongue up ", "turned out")
    settled = settle(Ground(script(COMMAS), told(heard), sounding(STOPPED)))
    assert [(attempt.line, attempt.full) for attempt in settled.attempts] == [(at, True) for at in range(4)]
    assert settled.unscripted == ()


WHOLE = "2.0  vera waits beside the water  4.0"
VERA = ("vera", "waits", "beside", "the", "water")


def start(start_ms: int, count: int) -> Attempt:
    spans = [Span(start_ms + 400 * at, start_ms + 400 * at + 400) for at in range(count)]
    words = tuple(ReadWord(text, span, None) for text, span in zip(VERA, spans, strict=False))
    return Attempt(1, False, count, words, (), 0.5, laid=True, score=-20.0)


def test_two_starts_whose_sound_is_the_whole_line_are_the_line() -> None:
    ground = Ground(script(FERRY), told(WHOLE), sounding(WHOLE))
    (line,) = with_own_rests(ground, [start(2000, 3), start(3200, 2)])
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2000, 4000))


@pytest.mark.parametrize(
    ("sound", "first", "second"),
    [
        ("2.0  vera waits beside vera waits  4.0", start(2000, 3), start(3200, 2)),  # begun twice, and never read
        (WHOLE.replace("beside the water  4.0", "beside  3.2\n3.6  the water  4.4"), start(2000, 3), start(3600, 2)),
        ("2.0  vera waits  2.8", start(2000, 1), start(2400, 1)),  # no time for the line
    ],
    ids=["two starts", "a pause between", "too short"],
)
def test_other_starts_stay(sound: str, first: Attempt, second: Attempt) -> None:
    ground = Ground(script(FERRY), told(sound), sounding(sound))
    assert with_own_rests(ground, [first, second]) == [first, second]
    third = replace(second, line=2)
    assert with_own_rests(ground, [first, third]) == [first, third]


HARDLY_VOICED = "2.0  vera waits  2.8\n2.8  [beside the water]  4.0"


def test_a_rest_that_was_heard_where_no_speech_was_found_is_the_lines_if_it_sounds_so() -> None:
    begun = start(2000, 2)
    ground = Ground(script(FERRY), told(HARDLY_VOICED), sounding(WHOLE), usual_score=-20.0 + LOWER_UNVOICED)
    (line,) = with_rests_hardly_voiced(ground, [begun])
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2000, 4000))
    assert with_rests_hardly_voiced(replace(ground, usual_score=-19.9 + LOWER_UNVOICED), [begun]) == [begun]
    assert with_rests_hardly_voiced(ground, []) == []


@pytest.mark.parametrize(
    ("heard", "sound", "following"),
    [
        (HARDLY_VOICED, "2.0  vera waits  2.8", []),  # invented
        (HARDLY_VOICED.replace("the water", "a warden"), WHOLE, []),
        (HARDLY_VOICED, WHOLE, [start(2800, 2)]),  # the next attempt's words are not the rest
        (HARDLY_VOICED.replace("2.8  [", "5.8  [").replace("4.0", "7.0"), WHOLE, []),  # too late for it
    ],
    ids=["invented", "others", "begun again", "late"],
)
def test_other_words_without_speech_are_no_rest(heard: str, sound: str, following: list[Attempt]) -> None:
    ground = Ground(script(FERRY), told(heard), sounding(sound))
    attempts = [start(2000, 2), *following]
    assert with_rests_hardly_voiced(ground, attempts) == attempts


TALKED = """
    2.0  vera waits beside  3.2
    3.8  the water          4.6
"""


def misheard(text: str, start_ms: int = 3800, end_ms: int = 4600) -> Unscripted:
    """Talk in which the recogniser heard these words."""
    span, words = Span(start_ms, end_ms), text.split()
    return Unscripted(span, tuple(HeardWord(word, span, 0.5) for word in words))


@pytest.mark.parametrize("heard", ["the waiter", "devotee", "there what are"])
def test_a_start_goes_on_in_talk_whose_sound_is_its_rest(heard: str) -> None:
    ground = Ground(script(FERRY), told(TALKED), sounding(TALKED), syllable_ms=200.0)
    (line,), left = with_rests_in_talk(ground, [start(2000, 3)], [misheard(heard)])
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2000, 4600))
    assert [word.text for word in line.heard] == heard.split()
    assert left == []


@pytest.mark.parametrize(
    ("sound", "talk", "following"),
    [
        (TALKED.replace("the water", "sorry about"), misheard("sorry about"), []),
        (TALKED, Unscripted(Span(3800, 4600), ()), []),  # nobody heard a word
        (TALKED, misheard("the waiter", 3800, 3950), []),  # too short for it
        (TALKED.replace("3.8", "5.0").replace("4.6", "5.8"), misheard("the waiter", 5000, 5800), []),  # too late
        (TALKED, misheard("the waiter"), [replace(start(6000, 5), full=True)]),  # she begins it again
    ],
    ids=["other words", "unread", "short", "late", "begun again"],
)
def test_other_talk_behind_a_start_stays_talk(sound: str, talk: Unscripted, following: list[Attempt]) -> None:
    ground = Ground(script(FERRY), told(sound), sounding(sound), syllable_ms=200.0)
    attempts = [start(2000, 3), *following]
    assert with_rests_in_talk(ground, attempts, [talk]) == (attempts, [talk])


UNHEARD = """
    2.0  vera waits beside the  3.6
    4.0  {}                     4.5
"""


@pytest.mark.parametrize(
    ("unheard", "upto", "apart", "is_rest"),
    [
        ("water", 4, 0.5, True),
        ("(a noise)", 4, 0.5, True),  # though it was taken for one
        ("water", 4, NOT_HERS + 0.1, False),  # something that fell, perhaps
        ("window", 4, 0.5, False),
        ("water", 3, 0.5, False),  # two words that nobody heard are too many
    ],
)
def test_the_last_word_may_be_a_sound_in_which_nobody_heard_one(
    unheard: str, upto: int, apart: float, is_rest: bool
) -> None:
    is_noise = unheard.startswith("(")
    ground = Ground(
        script(FERRY),
        told(UNHEARD.format(unheard)),
        sounding(UNHEARD.format("water" if is_noise else unheard)),
        voice_of=lambda span: Colour(apart if span.start_ms >= 4000 else 0.0),
        syllable_ms=200.0,
    )
    left = [] if is_noise else [Unscripted(Span(4000, 4500), ())]
    (found,), rest = with_rests_in_talk(ground, [start(2000, upto)], left)
    assert found.full is is_rest
    assert rest == ([] if is_rest else left)
    assert found.span.end_ms == (4500 if is_rest else 2000 + 400 * upto)


@pytest.mark.parametrize(
    ("heard", "gap_ms", "upto"),
    [
        ("beside the wa", LONG_COMMA_MS - 100, 4),
        ("beside the wa", LONG_COMMA_MS + 100, 2),
        ("besides the wa", LONG_COMMA_MS - 100, 2),  # not the very words
        ("beside the", LONG_COMMA_MS - 100, 2),  # nor more than these
        ("besides", 300, 3),
        ("window", 300, 2),  # other words
        ("beside", 900, 2),  # after a longer pause she begins something else
        ("besides the water", 300, 2),  # then it is all of the line, by its sound
    ],
)
def test_a_start_goes_on_behind_a_comma_in_what_was_heard_nearly_as_its_next_words(
    heard: str, gap_ms: int, upto: int
) -> None:
    ground = Ground(script(FERRY), told(WHOLE), sounding(WHOLE))
    place = Span(2800 + gap_ms, 3300 + gap_ms)
    talk = Unscripted(place, tuple(HeardWord(word, place, 0.5) for word in heard.split()))
    (found,), left = with_starts_gone_on(ground, [start(2000, 2)], [talk])
    assert (found.upto, found.texts) == (upto, VERA[:upto])
    assert left == ([talk] if upto == 2 else [])
    assert found.span.end_ms == (place.end_ms if upto > 2 else 2800)


LOG = """
    2.0  rain since midnight  3.5
    3.9  not                  4.4
"""


@pytest.mark.parametrize(("heard", "upto"), [("not", 4), ("now", 3)])
def test_a_start_goes_on_in_a_word_that_sounds_nearly_as_its_next(heard: str, upto: int) -> None:
    ground = Ground(script("Rain since midnight: nought today."), told(LOG), sounding(LOG))
    spans = [Span(2000 + 500 * at, 2500 + 500 * at) for at in range(3)]
    words = tuple(ReadWord(text, span, None) for text, span in zip(ground.spoken_words[0], spans, strict=False))
    begun = Attempt(0, False, 3, words, (), 0.5, laid=True, score=-20.0)
    (found,), left = with_starts_gone_on(ground, [begun], [misheard(heard, 3900, 4400)])
    assert found.upto == upto
    assert len(left) == 4 - upto


SLOW = """
    2.0  vera waits beside  3.2
    4.0  the                4.4
    5.2  water              6.0
"""


@pytest.mark.parametrize(("doubt", "is_one"), [(2.0, True), (0.5, False)])
def test_a_rest_in_parts_of_which_one_was_taken_for_the_next_lines_start_is_the_lines(
    doubt: float, is_one: bool
) -> None:
    """She reads it slowly, with a pause before each of its last words."""
    ground = Ground(script(FERRY), told(SLOW), sounding(SLOW), syllable_ms=200.0)
    other = (ReadWord("a", Span(4000, 4400), None),)
    between = Attempt(2, False, 1, other, (), doubt, laid=True, score=-40.0)
    following = replace(start(7000, 5), line=2, full=True)
    attempts, talk = [start(2000, 3), between, following], misheard("waiter", 5200, 6000)
    found, left = with_rests_in_talk(ground, attempts, [talk])
    if not is_one:
        assert (found, left) == (attempts, [talk])
        return
    assert [(each.line, each.full, each.span.end_ms) for each in found] == [(1, True, 6000), (2, True, 9000)]
    assert left == []


@pytest.mark.parametrize(
    ("both", "gap_ms", "following", "upto"),
    [
        (HARDLY_FURTHER, 100, 1, 4),
        (HARDLY_FURTHER + 0.1, 100, 1, 2),  # it sounds otherwise
        (HARDLY_FURTHER, RUNS_ON_MS, 1, 2),  # who pauses has broken off
        (HARDLY_FURTHER, 100, 2, 2),  # the line is not begun anew
        (HARDLY_FURTHER, 100, None, 2),
    ],
)
def test_a_start_goes_on_in_what_sounds_as_the_line_begun_anew(
    both: float, gap_ms: int, following: int | None, upto: int
) -> None:
    """Whatever was heard there."""

    def begins(span: Span, others: Sequence[Span]) -> list[Begun]:
        assert [each.start_ms for each in others] == [5000]
        return [Begun(1.0, 800) if span.end_ms == 2800 else Begun(both, 1500)]

    ground = Ground(script(FERRY), told(WHOLE), sounding(WHOLE), begins=begins)
    talk = misheard("obviously", 2800 + gap_ms, 3500 + gap_ms)
    lines = [] if following is None else [replace(start(5000, 5), line=following, full=True)]
    (found, *rest), left = with_starts_gone_on(ground, [start(2000, 2), *lines], [talk])
    assert (found.upto, found.texts, rest) == (upto, VERA[:upto], lines)
    assert left == ([talk] if upto == 2 else [])
    deaf = replace(ground, begins=nobody_begins)
    assert with_starts_gone_on(deaf, [start(2000, 2), *lines], [talk]) == ([start(2000, 2), *lines], [talk])


@pytest.mark.parametrize(("lacking_ms", "full"), [(HARDLY_LACKING_MS, True), (HARDLY_LACKING_MS + 1, False)])
def test_what_goes_on_up_to_the_end_of_the_line_begun_anew_is_all_of_it(lacking_ms: int, full: bool) -> None:
    line = replace(start(5000, 5), full=True)

    def begins(span: Span, _: Sequence[Span]) -> list[Begun]:
        return [Begun(1.0, 800 if span.end_ms == 2800 else line.span.length_ms - lacking_ms)]

    ground = Ground(script(FERRY), told(WHOLE), sounding(WHOLE), begins=begins)
    (found, _), left = with_starts_gone_on(ground, [start(2000, 2), line], [misheard("obviously", 2900, 4000)])
    assert (found.full, found.texts) == (full, VERA if full else VERA[:4])
    assert left == []
