from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.next_line import (
    CLEARLY,
    GOES_ON_MS,
    NEARER,
    SOON_MS,
    of_what_follows,
    with_lines_again,
    with_lines_that_begin_the_next,
)
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Begun, Like, sounding

HURRY = "Stir it slowly.\nDon't hurry.\nDon't hurry, wait until it's soft."


def test_a_start_that_breaks_off_in_a_word_is_of_the_line_that_goes_on_in_it() -> None:
    """The next line, too, begins in what was heard of it."""
    lines = script("If it isn't, raise your hand.\nIf it is, don't.\nIf I may, then.")
    ground = Ground(lines, told(""), sounding(""))
    words = [tuple(ReadWord(text, Span(0, 300), None) for text in line.spoken) for line in lines.lines]
    whole = Attempt(0, True, 6, words[0], (), 0.2, laid=True)
    for line, upto, its in ((1, 3, 0), (1, 2, 0), (2, 1, 0), (2, 2, 2)):
        start = Attempt(line, False, upto, words[line][:upto], (), 0.2, laid=True)
        assert [each.line for each in of_what_follows(ground, [start, whole])] == [its, 0]


def _whole(line: int, texts: tuple[str, ...], start_ms: int) -> Attempt:
    words = tuple(
        ReadWord(text, Span(start_ms + 300 * at, start_ms + 300 * at + 300), None) for at, text in enumerate(texts)
    )
    return Attempt(line, True, len(words), words, (), 0.2, laid=True)


@pytest.mark.parametrize(
    ("pause_ms", "of_next"), [(1000 * NEARER - 50, True), (1000 * NEARER + 50, False), (3000, False)]
)
def test_a_line_said_again_right_before_one_that_begins_with_it_is_a_start_of_that(
    pause_ms: float, of_next: bool
) -> None:
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    following = _whole(2, lines.lines[2].spoken, 5200 + round(pause_ms))
    ground = Ground(lines, told(""), sounding(""))
    found = with_lines_that_begin_the_next(ground, [_whole(0, lines.lines[0].spoken, 0), once, again, following])
    told_as = [(each.line, each.full) for each in found]
    assert told_as == [(0, True), (1, True), (2, False) if of_next else (1, True), (2, True)]
    assert with_lines_that_begin_the_next(ground, [again, following])[0] == again  # it was not read before
    assert with_lines_that_begin_the_next(ground, []) == []


def _hurried(lacking_ms: int, pause_ms: int) -> list[tuple[int, bool]]:
    """What the line said again is told as. ``lacking_ms``: of its end, by the reading before."""
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    following = _whole(2, lines.lines[2].spoken, 5200 + pause_ms)

    def compare(span: Span, _: Span) -> Like:
        return Like(lacking_ms=lacking_ms if span.start_ms == 3000 else 0)

    ground = Ground(lines, told(""), sounding(""), compare=compare)
    found = with_lines_that_begin_the_next(ground, [once, again, following])
    return [(each.line, each.full) for each in found]


@pytest.mark.parametrize(("lacking_ms", "of_next"), [(GOES_ON_MS, True), (GOES_ON_MS - 1, False)])
def test_a_line_said_again_that_goes_on_is_a_start_of_the_next(lacking_ms: int, of_next: bool) -> None:
    """However long the pause behind it is."""
    told_as = _hurried(lacking_ms, 5000)
    assert told_as == [(1, True), (2, False) if of_next else (1, True), (2, True)]


def test_who_waits_after_a_line_said_again_has_read_it() -> None:
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 9600))
    following = _whole(2, lines.lines[2].spoken, 10_200 + SOON_MS + 100)  # the pause before was longer still
    ground = Ground(lines, told(""), sounding(""))
    assert with_lines_that_begin_the_next(ground, [once, again, following]) == [once, again, following]


@pytest.mark.parametrize(("following", "again"), [(0, True), (2, False), (None, True)])
def test_a_start_that_says_all_of_the_line_before_is_that_once_more_unless_its_own_is_read_next(
    following: int | None, again: bool
) -> None:
    lines = script(HURRY)
    ground = Ground(lines, told(""), sounding(""))
    once = _whole(1, lines.lines[1].spoken, 3000)
    start = replace(_whole(2, lines.lines[1].spoken, 6000), full=False)
    rest = [] if following is None else [_whole(following, lines.lines[following].spoken, 9000)]
    _, found, *_ = with_lines_again(ground, [once, start, *rest])
    assert found == (replace(start, line=1, full=True) if again else start)
    other = replace(start, words=start.words[:1], upto=1)
    assert with_lines_again(ground, [once, other]) == [once, other]
    assert with_lines_again(ground, []) == []


@pytest.mark.parametrize("read_next", [True, False])
def test_a_start_of_a_line_that_is_not_read_is_the_line_before_it_if_it_says_all_of_that(read_next: bool) -> None:
    """ "Don't hurry." where neither that nor "Don't hurry, wait until it's soft." was found to be read."""
    lines = script(f"{HURRY}\nServe it warm.")
    ground = Ground(lines, told(""), sounding(""))
    first, last = _whole(0, lines.lines[0].spoken, 0), _whole(3, lines.lines[3].spoken, 5000)
    start = replace(_whole(1, lines.lines[1].spoken, 2000), line=2, full=False)
    rest = [_whole(2, lines.lines[2].spoken, 3500)] if read_next else []
    _, found, *_ = with_lines_again(ground, [first, start, *rest, last])
    assert (found.line, found.full) == ((2, False) if read_next else (1, True))


@pytest.mark.parametrize(("own", "its", "of_next"), [(1.0, 1.1, False), (1.0 / CLEARLY + 0.01, 1.0, True)])
@pytest.mark.parametrize("pause_ms", [100, 900])
@pytest.mark.parametrize("taken_for", [1, 2])
def test_a_line_said_again_is_what_it_sounds_like(
    own: float, its: float, of_next: bool, pause_ms: int, taken_for: int
) -> None:
    """However long the pause behind it is: where the sound tells, it is not asked; and whatever it was taken for."""
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    following = _whole(2, lines.lines[2].spoken, 5200 + pause_ms)
    again = replace(again, line=taken_for, full=taken_for == 1)

    def begins(span: Span, others: Sequence[Span]) -> list[Begun]:
        assert span == again.span
        assert list(others) == [once.span, following.span]
        return [Begun(own), Begun(its)]

    ground = Ground(lines, told(""), sounding(""), begins=begins)
    _, found, _ = with_lines_that_begin_the_next(ground, [once, again, following])
    assert (found.line, found.full) == ((2, False) if of_next else (1, True))


@pytest.mark.parametrize(("pause_ms", "of_next"), [(1000 * NEARER - 50, True), (1000 * NEARER + 50, False)])
def test_where_the_sound_hardly_tells_the_pauses_do(pause_ms: float, of_next: bool) -> None:
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    following = _whole(2, lines.lines[2].spoken, 5200 + round(pause_ms))

    def begins(_: Span, others: Sequence[Span]) -> list[Begun]:
        return [Begun(1.0 if other == once.span else (1.0 + CLEARLY) / 2) for other in others]

    ground = Ground(lines, told(""), sounding(""), begins=begins)
    _, found, _ = with_lines_that_begin_the_next(ground, [once, again, following])
    assert (found.line, found.full) == ((2, False) if of_next else (1, True))


def test_what_begins_two_lines_is_a_start_of_the_next_one_only_beside_all_of_the_line_before() -> None:
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    following = _whole(2, lines.lines[2].spoken, 9000)
    ground = Ground(lines, told(""), sounding(""))
    start = replace(again, line=2, full=False)
    assert with_lines_that_begin_the_next(ground, [once, start, following]) == [once, again, following]
    shorter = replace(start, upto=1, words=start.words[:1])
    other = _whole(0, lines.lines[0].spoken, 3000)
    for attempts in (
        [once, shorter, following],
        [other, start, following],
        [replace(once, full=False), start, following],
    ):
        assert with_lines_that_begin_the_next(ground, attempts) == attempts


def test_a_line_said_again_before_a_line_that_is_nowhere_read_in_full_is_judged_by_the_pauses() -> None:
    lines = script(HURRY)
    once, again = (_whole(1, lines.lines[1].spoken, start_ms) for start_ms in (3000, 4600))
    broken = replace(_whole(2, lines.lines[2].spoken[:3], 5300), full=False)

    def begins(_: Span, others: Sequence[Span]) -> list[Begun]:
        return [Begun(1.0) for _ in others]

    ground = Ground(lines, told(""), sounding(""), begins=begins)
    _, found, _ = with_lines_that_begin_the_next(ground, [once, again, broken])
    assert (found.line, found.full) == (2, False)
