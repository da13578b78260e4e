"""Short lines read in one breath, and heard as something else."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import DEFAULT_SCORE, Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.rows import LESS_LIKELY, LESS_LIKELY_ROW, LOWER, LOWER_ROW, with_rows
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring, weighing

PAIRS = "The lips come forward.\nSign, shine.\nMess, mesh.\nNow read the whole story."
HEARD = """
    0.0  the lips come forward  1.5
    2.0  sanshan mismesh        3.5
    4.0  and so on              4.8
    6.0  now read the story     8.0
"""
ROW, OTHER = Span(2000, 3500), Span(4000, 4800)


def settled(
    pairs: str = PAIRS, *, log: float = 0.0, lower: float = 0.0, gap: list[Unscripted] | None = None
) -> tuple[list[Attempt], list[Unscripted]]:
    """What is found between the first line and the last, where the missing lines are so likely and lie so well."""
    hearing = told(HEARD)
    ask = scoring(lambda request, _: DEFAULT_SCORE - (lower if request.window.contains(ROW.middle_ms) else 60.0))
    missing = " ".join(pairs.splitlines()[1:-1])
    ground = Ground(script(pairs), hearing, ask, 230.0, weigh=weighing({"sanshan mismesh": -12.0, missing: log - 12.0}))
    read = ((0, Span(0, 1500)), (len(pairs.splitlines()) - 1, Span(6000, 8000)))
    lines = [
        Attempt(line, True, len(words), tuple(ReadWord(word, span, None) for word in words), (), 0.2, laid=True)
        for line, span in read
        for words in [ground.spoken_words[line]]
    ]
    talk = [Unscripted(span, ground.heard_near(span)) for span in (ROW, OTHER)] if gap is None else gap
    return with_rows(ground, lines, talk)


def test_several_missing_lines_are_parted_where_their_words_were_laid() -> None:
    attempts, left = settled(log=1 - LESS_LIKELY_ROW, lower=LOWER_ROW - 1)
    assert [(attempt.line, attempt.full) for attempt in attempts] == [(0, True), (1, True), (2, True), (3, True)]
    first, second = attempts[1:3]
    assert first.texts == ("sign", "shine")
    assert first.span.end_ms <= second.span.start_ms
    assert [talk.span for talk in left] == [OTHER]


def test_talk_that_the_row_stands_in_keeps_the_rest() -> None:
    both = Unscripted(ROW.hull(OTHER), told(HEARD).words[4:9])
    _, (rest,) = settled(gap=[both])
    assert rest.span == Span(ROW.end_ms, OTHER.end_ms)
    assert [word.text for word in rest.words] == ["and", "so", "on"]


def test_other_speech_that_the_row_was_looked_for_in_stays_talk() -> None:
    """The line is the likeliest in both breaths together, and its words were laid in the second."""
    pairs = "The lips come forward.\nSign, shine, mine, dine, mess, mesh.\nNow read the whole story."
    hearing, line = told(HEARD), pairs.splitlines()[1]

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(
            Alignment(
                each,
                tuple(
                    AlignedWord(word, part, DEFAULT_SCORE if each.window.contains(ROW.middle_ms) else -99.0)
                    for word, part in zip(each.words, OTHER.parts(len(each.words)), strict=True)
                ),
            )
            for each in requests
        )

    weigh = weighing({"sanshan mismesh and so on": -12.0, "sanshan mismesh": 0.0, line: -12.0})
    ground = Ground(script(pairs), hearing, ask, 230.0, weigh=weigh)
    read = [
        Attempt(line, True, 4, tuple(ReadWord(word, span, None) for word in "abcd"), (), 0.2, laid=True)
        for line, span in ((0, Span(0, 1500)), (2, Span(6000, 8000)))
    ]
    talk = [Unscripted(span, ground.heard_near(span)) for span in (ROW, OTHER)]
    attempts, left = with_rows(ground, read, talk)
    assert [(attempt.line, attempt.span) for attempt in attempts[1:-1]] == [(1, OTHER)]
    assert left == talk[:1]


@pytest.mark.parametrize(("log", "lower"), [(-1 - LESS_LIKELY_ROW, 0.0), (0.0, LOWER_ROW + 1)])
def test_what_is_far_less_likely_or_lies_worse_stays_talk(log: float, lower: float) -> None:
    attempts, left = settled(log=log, lower=lower)
    assert (len(attempts), len(left)) == (2, 2)


@pytest.mark.parametrize(
    ("log", "lower", "found"), [(1 - LESS_LIKELY, LOWER - 1, 3), (-1 - LESS_LIKELY, 0.0, 2), (0.0, LOWER + 1, 2)]
)
def test_one_line_alone_must_be_as_likely_as_what_was_heard(log: float, lower: float, found: int) -> None:
    one = PAIRS.replace("\nMess, mesh.", " Mess, mesh.")
    assert len(settled(one, log=log, lower=lower)[0]) == found


def test_a_start_under_the_row_is_a_part_of_it() -> None:
    hearing = told(HEARD)
    ground = Ground(
        script(PAIRS),
        hearing,
        scoring(lambda *_: DEFAULT_SCORE),
        230.0,
        weigh=weighing({"Sign, shine. Mess, mesh.": -1.0, "and so on": 30.0}),
    )
    spans = (Span(0, 1500), Span(2000, 2500), Span(6000, 8000))
    rows = zip((0, 1, 3), (4, 1, 5), spans, strict=True)
    attempts = [
        Attempt(line, line != 1, upto, tuple(ReadWord("x", span, None) for _ in range(upto)), (), 0.2, laid=True)
        for line, upto, span in rows
    ]
    found, _ = with_rows(ground, attempts, [])
    assert [(attempt.line, attempt.full) for attempt in found] == [(0, True), (1, True), (2, True), (3, True)]
