"""A line is not laid over a pause where all of it stands on one side."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.bridges import LESS_LIKELY, with_bridges_cut
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import sounding, weighing

BUCKET = "Then I gave her the bucket.\nNow we have 250 of them."
WHOLE, TRIMMED_AT_ITS_END, TRIMMED_AT_ITS_START = (
    "Then I gave her the bucket.",
    "Then I gave her the",
    "I gave her the bucket.",
)
BEHIND = """
    0.0  then i gave her the bucket  1.8
    2.4  good                        2.7
"""
BEFORE = """
    0.0  {before}                    0.4
    1.0  then i gave her the bucket  2.8
"""


def bridging(line: int, texts: tuple[str, ...], *spans_ms: tuple[int, int]) -> Attempt:
    words = tuple(ReadWord(text, Span(*span), None) for text, span in zip(texts, spans_ms, strict=True))
    return Attempt(line, True, len(words), words, (), 0.6, laid=True, score=-22.0)


def cut(said: str, attempt: Attempt, logs: dict[str, float]) -> tuple[list[Attempt], list[Unscripted]]:
    hearing = told(said)
    ground = Ground(script(BUCKET), hearing, sounding(said), 220.0, weigh=weighing(logs))
    return with_bridges_cut(ground, [replace(attempt, heard=hearing.words)], [])


LINE = ("then", "i", "gave", "her", "the", "bucket")
OVER_THE_END = bridging(0, LINE, (0, 300), (300, 600), (600, 1000), (1000, 1400), (1400, 1800), (2400, 2700))
OVER_THE_START = bridging(0, LINE, (0, 400), (1000, 1500), (1500, 1800), (1800, 2100), (2100, 2400), (2400, 2800))


@pytest.mark.parametrize(("less", "is_cut"), [(LESS_LIKELY - 0.1, True), (LESS_LIKELY + 0.1, False)])
def test_what_stands_behind_the_pause_is_talk_if_all_of_the_line_is_as_likely_before_it(
    less: float, is_cut: bool
) -> None:
    attempts, talk = cut(BEHIND, OVER_THE_END, {WHOLE: -20.0 - less, TRIMMED_AT_ITS_END: -20.0})
    (line,) = attempts
    assert line.span == (Span(0, 1800) if is_cut else OVER_THE_END.span)
    assert [word.text for word in line.heard][-1] == ("bucket" if is_cut else "good")
    assert [(each.span, [word.text for word in each.words]) for each in talk] == (
        [(Span(2400, 2700), ["good"])] if is_cut else []
    )


def test_the_lines_first_word_before_the_pause_is_a_start_of_it() -> None:
    attempts, talk = cut(BEFORE.format(before="then"), OVER_THE_START, {WHOLE: -20.0, TRIMMED_AT_ITS_START: -20.0})
    assert [(each.full, each.span) for each in attempts] == [(False, Span(0, 400)), (True, Span(1000, 2800))]
    assert attempts[0].texts == ("then",)
    assert talk == []


def test_another_word_before_the_pause_is_talk() -> None:
    attempts, talk = cut(BEFORE.format(before="fine"), OVER_THE_START, {WHOLE: -20.0, TRIMMED_AT_ITS_START: -20.0})
    assert [(each.full, each.span) for each in attempts] == [(True, Span(1000, 2800))]
    assert [word.text for each in talk for word in each.words] == ["fine"]


def test_the_end_of_the_line_before_is_no_talk() -> None:
    """The one that bridges reaches into it."""
    said = BEFORE.format(before="them")
    hearing = told(said)
    logs = {WHOLE: -20.0, TRIMMED_AT_ITS_START: -20.0}
    ground = Ground(script(BUCKET), hearing, sounding(said), 220.0, weigh=weighing(logs))
    before = replace(bridging(1, ("them",), (-900, 380)), full=True)
    attempts, talk = with_bridges_cut(ground, [before, replace(OVER_THE_START, heard=hearing.words)], [])
    assert [each.span.start_ms for each in attempts] == [-900, 1000]
    assert talk == []


@pytest.mark.parametrize(
    "attempt",
    [
        replace(OVER_THE_END, full=False),
        replace(OVER_THE_END, laid=False),
        replace(OVER_THE_END, changes=(Change(0, 0, ("then",), ("when",)),)),
        replace(OVER_THE_END, score=0.0),  # far better than on one side
    ],
)
def test_what_is_no_whole_line_or_lies_worse_so_stays(attempt: Attempt) -> None:
    attempts, talk = cut(BEHIND, attempt, {WHOLE: -20.0, TRIMMED_AT_ITS_END: -20.0})
    assert [each.span for each in attempts] == [attempt.span]
    assert talk == []


def test_a_pause_inside_a_number_parts_no_words_of_the_line() -> None:
    """What the recogniser would be asked about is then the same line twice."""
    said = "0.0  now we have two hundred and  1.8\n2.4  fifty of them  3.3"
    texts = ("now", "we", "have", "two", "hundred", "and", "fifty", "of", "them")
    spans = [(300 * at, 300 * at + 300) for at in range(6)] + [(2400, 2700), (2700, 3000), (3000, 3300)]
    attempt = bridging(1, texts, *spans)
    attempts, talk = cut(said, attempt, {"Now we have 250 of them.": -20.0})
    assert [each.span for each in attempts] == [attempt.span]
    assert talk == []
