"""A line misread at its end and put right at once is one reading; other talk behind a line is none of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.corrections import with_corrections
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

VERA = ("vera", "waits", "beside", "the", "water")
WRONG = Change(4, 4, ("water",), ("window",), support=20.0, confidence=0.9)
SAID = """
    2.0  vera waits beside the window   4.0
    4.5  beside the water               5.7
"""


def reading(*changes: Change) -> Attempt:
    words = tuple(ReadWord(text, Span(2000 + 400 * at, 2400 + 400 * at), text) for at, text in enumerate(VERA))
    return Attempt(1, True, len(VERA), words, (), 0.3, laid=True, changes=changes, score=-20.0)


def talk(text: str, start_ms: int = 4500, end_ms: int = 5700) -> Unscripted:
    span = Span(start_ms, end_ms)
    return Unscripted(span, tuple(HeardWord(word, span, 0.8) for word in text.split()))


def ground(said: str = SAID) -> Ground:
    return Ground(script(FERRY), told(said), sounding(said), syllable_ms=200.0, usual_score=-20.0)


@pytest.mark.parametrize("heard", ["beside the water", "besides the waiter"])
def test_the_end_said_again_rightly_is_the_lines(heard: str) -> None:
    (whole,), left = with_corrections(ground(), [reading(WRONG)], [talk(heard)])
    assert left == []
    assert (whole.full, whole.texts, whole.span) == (True, VERA, Span(2000, 5700))
    (change,) = whole.changes
    assert (change.first, change.last, change.script) == (2, 4, VERA[2:])
    assert change.heard == ("beside", "the", "window", "beside", "the", "water")
    assert change.confidence == WRONG.confidence


def test_the_last_word_alone_may_be_put_right() -> None:
    said = SAID.replace("4.5  beside the water               5.7", "4.5  water  5.0")
    (whole,), _ = with_corrections(ground(said), [reading(WRONG)], [talk("water", 4500, 5000)])
    assert [change.heard for change in whole.changes] == [("window", "water")]


@pytest.mark.parametrize(
    ("changes", "said", "behind"),
    [
        ((), SAID, talk("beside the water")),  # nothing was wrong
        ((WRONG,), SAID, talk("sorry once more please")),
        ((WRONG,), SAID, Unscripted(Span(4500, 5700), ())),
        ((WRONG,), SAID.replace("4.5", "5.5").replace("5.7", "6.7"), talk("beside the water", 5500, 6700)),  # later
        ((WRONG,), SAID.replace("beside the water", "sorry my fault"), talk("beside the water")),  # misheard so
        ((replace(WRONG, first=0, last=0),), SAID, talk("beside the water")),  # the wrong word is not in it
    ],
    ids=["right", "other words", "unread", "late", "another sound", "before"],
)
def test_other_talk_behind_a_line_stays_talk(changes: tuple[Change, ...], said: str, behind: Unscripted) -> None:
    before = reading(*changes)
    assert with_corrections(ground(said), [before], [behind]) == ([before], [behind])


def test_what_is_said_before_the_next_line_only_is_looked_at() -> None:
    following = replace(reading(), words=(ReadWord("vera", Span(4200, 4400), None),))
    attempts = [reading(WRONG), following]
    assert with_corrections(ground(), attempts, [talk("beside the water")]) == (attempts, [talk("beside the water")])
