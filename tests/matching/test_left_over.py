"""Talk said in one breath with a line, and taken for its end."""

from __future__ import annotations

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.left_over import LEFT_OVER_MS, with_talk_behind
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, sounding

DOOR = "Push the door.\nHold it."
SAID = """
    1.0  push the door  2.0
    2.0  that'll do     2.8
    5.0  hold it        5.6
   10.0  push the door  11.0
   12.0  hold it        12.6
"""


def pushed(left_over_ms: int, said: str = SAID, until_ms: int = 2800) -> tuple[list[Attempt], list[Unscripted]]:
    """What becomes of the first reading, up to there, where the other one of its line leaves over so much of it."""

    def compare(_: Span, other: Span) -> Like:
        return Like(lacking_ms=left_over_ms if other.start_ms == 1000 else 0)

    here = Ground(script(DOOR), told(said), sounding(said), compare=compare)
    rows = ((0, 1000, until_ms), (1, 5000, 5600), (0, 10_000, 11_000), (1, 12_000, 12_600))
    attempts = []
    for line, start_ms, end_ms in rows:
        span = Span(start_ms, end_ms)
        words = tuple(ReadWord(text, span, None) for text in here.spoken_words[line])
        attempts.append(Attempt(line, True, len(words), words, here.heard_inside(span), 0.2, laid=True))
    return with_talk_behind(here, attempts, [Unscripted(Span(2850, 3300), told("2.85  now then  3.3").words)])


def test_what_every_other_reading_leaves_over_is_talk_with_what_runs_on_from_it() -> None:
    (first, *others), left = pushed(800)
    assert first.full
    assert first.span == Span(1000, 2000)
    assert [word.text for word in first.heard] == ["push", "the", "door"]
    assert [each.line for each in others] == [1, 0, 1]
    (talk,) = left
    assert talk.span == Span(2000, 3300)
    assert " ".join(word.text for word in talk.words) == "that'll do now then"


@pytest.mark.parametrize(
    ("left_over_ms", "said", "until_ms"),
    [
        (LEFT_OVER_MS - 1, SAID, 2800),  # it is drawn out
        (800, SAID.replace("push the door  2.0", "push the       2.0").replace("that'll do", "drawer    "), 2800),
        (800, SAID.replace("push the door  2.0", "push the       2.0").replace("that'll do", "hatchback "), 2800),
        (800, SAID.replace("push the door  2.0", "putting down   2.0"), 2800),  # whatever it is, it is not the line
        (800, SAID.replace("2.0  that'll do     2.8", ""), 2800),  # nothing was heard there
        (800, SAID, 1900),  # it is as long as the other one
    ],
    ids=["little", "a word of it misread", "another word for it", "unlike it", "nothing heard", "no longer"],
)
def test_what_is_but_another_end_of_the_line_stays(left_over_ms: int, said: str, until_ms: int) -> None:
    (first, *_), left = pushed(left_over_ms, said, until_ms)
    assert first.span == Span(1000, until_ms)
    assert len(left) == 1
