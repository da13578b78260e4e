"""Starts that stand in talk, right before their line."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.begun_in_talk import (
    BEFORE_LINE_MS,
    FAR_MORE_LIKE,
    FEWEST_LINES,
    LONGEST_MS,
    MORE_LIKE_THAN_MOST,
    with_starts_in_talk,
)
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Begun

CHOP = "Listen.\nThe second sound starts with a stop.\nThank you."


def parts(talk: str, *, line: str = "the second sound starts with a stop", from_ms: int = 6000) -> list[str]:
    """What becomes of the talk before the line, in which that was heard: starts in brackets."""
    hearing = told(f"0.0  listen  0.6\n{talk}\n{from_ms / 1000}  {line}  {from_ms / 1000 + 3}\n20.0  thank you  20.6")
    here = Ground(script(CHOP), hearing, no_aligner, 200.0)
    spans = (Span(0, 600), Span(from_ms, from_ms + 3000), Span(20_000, 20_600))
    attempts = []
    for at, span in enumerate(spans):
        words = tuple(ReadWord(text, span, None) for text in here.spoken_words[at])
        attempts.append(Attempt(at, True, len(words), words, here.heard_inside(span), 0.2, laid=True))
    words_of_talk = here.heard_inside(Span(600, from_ms))
    whole = Unscripted(words_of_talk[0].span.hull(words_of_talk[-1].span), words_of_talk)
    found, left = with_starts_in_talk(here, attempts, [whole])
    starts = [each for each in found if each not in attempts]
    assert all(not each.full and each.line == 1 for each in starts)
    rows = [(each.span, f"[{' '.join(word.text for word in each.heard)}]") for each in starts]
    rows += [(each.span, " ".join(word.text for word in each.words)) for each in left]
    return [text for _, text in sorted(rows)]


@pytest.mark.parametrize(
    ("talk", "told_apart"),
    [
        ("2.0  the second sound begins  3.2\n3.7  no, starts.  4.4", ["[the second sound begins]", "no, starts."]),
        ("2.0  was that me?  3.0\n3.2  the second  4.0", ["was that me?", "[the second]"]),
        ("2.0  the second  2.6\n3.0  the second sound  4.0", ["the second", "[the second sound]"]),
    ],
)
def test_what_begins_as_the_line_and_breaks_off_is_a_start(talk: str, told_apart: list[str]) -> None:
    assert parts(talk) == told_apart


def test_what_was_heard_as_in_the_line_itself_begins_it_too() -> None:
    talk = "2.0  a sekund noise  3.2"
    assert parts(talk, line="a sekund sound starts with a stop") == ["[a sekund noise]"]
    assert parts(talk) == ["a sekund noise"]


@pytest.mark.parametrize(
    "talk",
    [
        "2.0  the lorry again  3.0",  # one word is no start
        "2.0  the second cup of tea  3.5",  # it goes on as something else
        "2.0  was that the second  3.5",  # it begins otherwise
        "2.0  the second sound starts with a stop  5.0",  # all of it is no start
    ],
)
def test_other_talk_stays_talk(talk: str) -> None:
    assert len(parts(talk)) == 1
    assert not parts(talk)[0].startswith("[")


def test_talk_long_before_the_line_is_no_start() -> None:
    talk = "2.0  the second  3.0"
    assert parts(talk, from_ms=3000 + BEFORE_LINE_MS) == ["[the second]"]
    assert parts(talk, from_ms=3001 + BEFORE_LINE_MS) == ["the second"]


def before_line(
    talk: Span,
    heard: str,
    like: Callable[[Span], float],
    lines: int = FEWEST_LINES,
    most: float = 1.0,
) -> tuple[list[Attempt], list[Unscripted]]:
    """What becomes of the talk before a line that stands behind so many others, the beginnings of which are all one
    away, or all but one of them ``most``; ``like``: how far stretches of it are from the beginning of that line."""
    text = "\n".join([*(f"Line {at}." for at in range(lines)), "The second sound."])
    hearing = told(f"{heard}\n6.0  the second sound  7.5")

    def begins(stretch: Span, readings: Sequence[Span]) -> tuple[Begun, ...]:
        return tuple(
            Begun(like(stretch) if each.start_ms == 6000 else most if each.start_ms else 1.0, 700) for each in readings
        )

    here = Ground(script(text), hearing, no_aligner, 200.0, begins=begins)
    attempts = []
    for line, row in enumerate(here.spoken_words):
        whole = Span(6000, 7500) if line == lines else Span(100 * line, 100 * line + 50)
        words = tuple(ReadWord(text, part, None) for text, part in zip(row, whole.parts(len(row)), strict=True))
        attempts.append(Attempt(line, True, len(words), words, (), 0.2, laid=True))
    found, left = with_starts_in_talk(here, attempts, [Unscripted(talk, here.heard_inside(talk))])
    return [each for each in found if not each.full], left


@pytest.mark.parametrize(
    ("like", "until_ms", "lines", "is_start"),
    [
        (FAR_MORE_LIKE - 0.1, 3200, FEWEST_LINES, True),
        (FAR_MORE_LIKE + 0.1, 3200, FEWEST_LINES, False),  # as like another line
        (FAR_MORE_LIKE - 0.1, 3200, FEWEST_LINES - 1, False),  # too few can say what is usual
        (FAR_MORE_LIKE - 0.1, 3001 + LONGEST_MS, FEWEST_LINES, False),
        (FAR_MORE_LIKE - 0.1, 5800, FEWEST_LINES, False),  # it runs into the line
    ],
)
def test_short_talk_that_sounds_as_the_line_begins_is_a_start(
    like: float, until_ms: int, lines: int, is_start: bool
) -> None:
    span = Span(3000 if until_ms < 5000 else until_ms - 500, until_ms)
    heard = f"{span.start_ms / 1000}  ~absurd  {until_ms / 1000}"
    starts, left = before_line(span, heard, lambda _: like, lines)
    assert [(each.line, each.texts) for each in starts] == ([(lines, ("the",))] if is_start else [])
    assert bool(left) is not is_start


@pytest.mark.parametrize(
    ("heard", "like", "most", "is_start"),
    [
        ("~absurd", 0.95, 0.95 / MORE_LIKE_THAN_MOST + 0.01, True),
        ("~absurd", 0.95, 0.95 / MORE_LIKE_THAN_MOST - 0.01, False),
        ("~absurd", 1.05, 3.0, False),  # one other is as near
        ("absurd", 0.95, 3.0, False),  # it was heard
    ],
)
def test_what_hardly_anything_was_heard_in_may_be_less_like_the_line_if_most_others_are_far(
    heard: str, like: float, most: float, is_start: bool
) -> None:
    starts, _ = before_line(Span(3000, 3200), f"3.0  {heard}  3.2", lambda _: like, most=most)
    assert bool(starts) is is_start


@pytest.mark.parametrize(
    ("like", "talk", "starts", "left"),
    [
        ((0.6, 0.6), "so send", ["so", "send"], []),
        ((0.6, 0.6), "so sent ascend", ["so sent", "ascend"], []),
        ((0.6, 0.9), "so sent sorry", [], ["so sent sorry"]),  # one alone may sound so by chance
        ((0.9, 0.6), "so sent sorry", [], ["so sent sorry"]),
    ],
)
def test_a_pause_in_talk_parts_two_starts(
    like: tuple[float, float], talk: str, starts: list[str], left: list[str]
) -> None:
    *first, last = talk.split()
    heard = f"3.0  {' '.join(first)}  3.7\n4.0  {last}  4.6"
    found, rest = before_line(
        Span(3000, 4600), heard, lambda part: like[part.start_ms >= 3700] if part.length_ms < 1000 else 1.0
    )
    assert [" ".join(word.text for word in each.heard) for each in found] == starts
    assert [" ".join(word.text for word in each.words) for each in rest] == left
