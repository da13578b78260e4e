"""Follow the script through the heard words, wherever they jump.

A hidden Markov model in the manner of score following with jumps (Nakamura, Nakamura and Sagayama 2016). A state is a
word of a line, or talk outside the script that remembers the line it left. Each heard word is one step:

    inside a line   the next word; later words of the line at a cost for each one missed; the same place again, for a
                    heard word that the line does not have
    at an edge      any line may follow any line: the next one for nothing, the same again, an earlier one, a later
                    one, and from the end of the passage round to its start; leaving a line before its end and
                    entering it after its start both cost
    outside         talk costs a little for every word, so that a line is preferred where the words fit one

The cheapest path is found in time linear in the heard words. Every so often all ways to all states are followed back:
soon they have one beginning, which is the path's, whatever comes; so that only what is open has to be remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut import wording
from lessoncut.script.records import Script

Costs2D = NDArray[np.float64]


@dataclass(frozen=True)
class Costs:
    """What each departure from the script costs; one unit is about one word that does not fit."""

    substituted: float = 1.7
    """A heard word in place of a script word it is not at all like."""
    extra: float = 1.2
    """A heard word that the line does not have."""
    missed: float = 0.8
    """A script word that was not heard, inside a line or at its edge."""
    most_missed_at_start: float = 2.6
    most_missed_at_end: float = 1.5
    talk: float = 0.8
    """One word outside the script."""
    talk_begins: float = 0.3
    talk_ends: float = 0.3
    again: float = 0.5
    """The line that was just read, from its start."""
    skip: float = 1.0
    skip_each: float = 0.12
    back: float = 0.9
    back_each: float = 0.08
    round_again: float = 0.4
    """From the passage's last line to its first."""
    most_jump: float = 2.4
    across_pause: float = 0.7
    """To go on inside a line, or to add a word to it, after a pause of ``PAUSE_MS`` or more."""
    abandoned_at_pause: float = 0.5
    """Factor on leaving a line early when a pause follows."""


PAUSE_MS = 180


@dataclass(frozen=True)
class Token:
    """One spoken word as the matching sees it: ``heard`` is the index of the heard word it came from."""

    word: str
    heard: int
    pause_before_ms: int


@dataclass(frozen=True)
class Fit:
    """Token ``token`` stands for word ``word`` of the line."""

    word: int
    token: int
    likeness: float


@dataclass(frozen=True)
class Run:
    """Tokens ``[first, last]`` in a row that follow one line (``line`` is an index), or none (``line`` is None)."""

    line: int | None
    first: int
    last: int
    fits: tuple[Fit, ...]


@dataclass(frozen=True)
class Course:
    """The script's words, line by line, and what each costs to enter and to leave."""

    words: tuple[tuple[str, ...], ...]
    jump: Costs2D
    """Shape (lines, lines): from the row's line to the column's."""
    enter: Costs2D
    """Shape (lines, longest line); infinite beyond a line's last word."""
    leave: Costs2D


def course(script: Script, costs: Costs) -> Course:
    """The script as a space of states."""
    words = tuple(line.spoken for line in script.lines)
    longest = max((len(line) for line in words), default=0)
    enter = np.full((len(words), longest), np.inf)
    leave = np.full((len(words), longest), np.inf)
    for index, line in enumerate(words):
        places = np.arange(len(line))
        enter[index, : len(line)] = np.minimum(costs.missed * places, costs.most_missed_at_start)
        leave[index, : len(line)] = np.minimum(costs.missed * places[::-1], costs.most_missed_at_end)
    return Course(words, _jump_costs(script, costs), enter, leave)


def _jump_costs(script: Script, costs: Costs) -> Costs2D:
    count = len(script.lines)
    here, there = np.arange(count)[:, None], np.arange(count)[None, :]
    ahead = there - here
    jump = np.where(ahead > 1, costs.skip + costs.skip_each * (ahead - 1), 0.0)
    jump = np.where(ahead < 0, costs.back - costs.back_each * ahead, jump)
    jump = np.where(ahead == 0, costs.again, jump)
    passage = [index for index, line in enumerate(script.lines) if line.in_passage]
    if passage:
        first, last = passage[0], passage[-1]
        inside = (here >= first) & (here <= last) & (there >= first) & (there <= here)
        round_the_end = costs.round_again + costs.skip_each * ((last - here) + (there - first))
        jump = np.where(inside, np.minimum(jump, round_the_end), jump)
    return np.asarray(np.minimum(jump, costs.most_jump), dtype=np.float64)


def word_costs(
    course_: Course, tokens: Sequence[Token], costs: Costs
) -> tuple[Costs2D, Costs2D, NDArray[np.int64], NDArray[np.int64]]:
    """Likeness and cost of each distinct token and each script word (the last column is no word at all).

    Beside them each token's row, shape (tokens,), and each state's column, shape (lines, longest line): a long take has
    thousands of words, and so has its script, so that only one token at a time is spread over the states.
    """
    distinct = sorted({token.word for token in tokens})
    row_of = {word: row for row, word in enumerate(distinct)}
    rows = np.array([row_of[token.word] for token in tokens], dtype=np.int64)
    script_words = sorted({word for line in course_.words for word in line})
    column_of = {word: column for column, word in enumerate(script_words)}
    columns = np.full(course_.enter.shape, len(script_words), dtype=np.int64)
    for index, line in enumerate(course_.words):
        columns[index, : len(line)] = [column_of[word] for word in line]
    likeness = np.pad(wording.likeness_table(distinct, script_words).astype(np.float64), ((0, 0), (0, 1)))
    cost = np.minimum((1.0 - likeness) * 2.4, costs.substituted)
    return likeness, cost, rows, columns


_STAY, _ARRIVE = -2, -1
_ROUNDING = 1e-6
_MOST_OPEN = 256
"""Tokens, after which it is asked how much of the path is settled."""


@dataclass(frozen=True)
class _Step:
    """How each state was reached at one token. Shapes (lines, longest) and (lines,)."""

    how: NDArray[np.signedinteger]
    """The word of the same line that it came from, or ``_STAY`` or ``_ARRIVE``."""
    left_line: NDArray[np.int16]
    """The line that a jump into this line left."""
    left_word: NDArray[np.int16]
    """The word where the line was left; -1 when talk lay between."""
    talk_from: NDArray[np.int16]
    """The word where talk began; -1 when it went on."""


@dataclass(frozen=True)
class _Ways:
    """The cheapest ways that end at one token: its step, and the cost of each state. Shapes as in ``_Step``."""

    step: _Step
    word: Costs2D
    talk: NDArray[np.float64]


def follow(script: Script, tokens: Sequence[Token], costs: Costs | None = None) -> tuple[Run, ...]:
    """The cheapest way through the script for these tokens, as runs that cover every token in order."""
    costs = costs or Costs()
    if not tokens or not script.lines:
        return (Run(None, 0, len(tokens) - 1, ()),) if tokens else ()
    space = course(script, costs)
    likeness, cost, rows, columns = word_costs(space, tokens, costs)
    ways = _forward(space, tokens, lambda at: cost[rows[at]].take(columns), costs)
    path = _cheapest(space, ways)
    return _runs(path, lambda at, line, word: float(likeness[rows[at], columns[line, word]]))


def _forward(
    space: Course, tokens: Sequence[Token], cost_at: Callable[[int], Costs2D], costs: Costs
) -> Iterator[_Ways]:
    lines, longest = space.enter.shape
    numbers = np.min_scalar_type(-max(2, longest))
    places = np.arange(longest, dtype=numbers)
    missed_before = costs.missed * np.arange(longest)
    missed_between = costs.missed * (np.arange(1, longest) - 1)
    # A take may begin anywhere, most likely at the first line; talk before it belongs to "line 0".
    first = np.minimum(costs.skip_each * np.arange(lines), costs.most_jump)
    word = first[:, None] + space.enter + cost_at(0)
    talk = first + costs.talk_begins + costs.talk
    nowhere = np.full(lines, -1, dtype=np.int16)
    yield _Ways(_Step(np.full((lines, longest), _ARRIVE, dtype=numbers), nowhere, nowhere, nowhere), word, talk)
    for at in range(1, len(tokens)):
        paused = tokens[at].pause_before_ms >= PAUSE_MS
        going_on = costs.across_pause if paused else 0.0
        leave = space.leave * (costs.abandoned_at_pause if paused else 1.0)
        # inside the line
        left = word - missed_before
        running = np.minimum.accumulate(left, axis=1)
        how = np.zeros((lines, longest), dtype=numbers)
        np.maximum.accumulate(places[:-1] * (left == running)[:, :-1], axis=1, out=how[:, 1:])
        forward = np.full((lines, longest), np.inf)
        forward[:, 1:] = running[:, :-1] + missed_between + going_on
        # out of a line, and into any line: from the cheapest, unless another is cheaper still with its jump
        leaving = word + leave
        exit_word = leaving.argmin(axis=1)
        exit_cost = leaving[np.arange(lines), exit_word]
        after_talk = talk + costs.talk_ends
        out = np.minimum(exit_cost, after_talk)
        near = np.flatnonzero(out <= out.min() + costs.most_jump + _ROUNDING)
        jumps = out[near, None] + space.jump[near]
        nearest = jumps.argmin(axis=0)
        from_line = near[nearest]
        arrive = jumps[nearest, np.arange(lines)][:, None] + space.enter
        # the new column
        stepped = np.minimum(forward, arrive)
        new_word = stepped + cost_at(at)
        stay = word + costs.extra + going_on
        np.copyto(how, _ARRIVE, where=arrive < forward)
        np.copyto(how, _STAY, where=stay < new_word)
        left_word = np.where(after_talk[from_line] <= exit_cost[from_line], -1, exit_word[from_line])
        begins = exit_cost + costs.talk_begins
        talk_from = np.where(talk <= begins, -1, exit_word)
        talk = np.minimum(talk, begins) + costs.talk
        word = np.minimum(new_word, stay)
        yield _Ways(_Step(how, *(one.astype(np.int16) for one in (from_line, left_word, talk_from))), word, talk)


@dataclass(frozen=True)
class _Place:
    line: int
    word: int | None
    """None for talk."""
    arrived: bool
    fitted: bool


def _cheapest(space: Course, ways: Iterator[_Ways]) -> list[_Place]:
    """The path that is cheapest in the end, a place for every token."""
    path: list[_Place] = []
    open_: list[_Step] = []
    most = _MOST_OPEN
    for last in ways:
        open_.append(last.step)
        if len(open_) >= most:
            settled = _settled(open_, np.isfinite(space.leave))
            if settled:
                count, line, word = settled
                path += _backward(open_[:count], line, word)
                del open_[:count]
            most = max(_MOST_OPEN, 2 * len(open_))
    word_end = last.word + space.leave
    line, place = (int(part) for part in np.unravel_index(int(word_end.argmin()), word_end.shape))
    in_talk = last.talk.min() < word_end.min()
    return path + (_backward(open_, int(last.talk.argmin()), None) if in_talk else _backward(open_, line, place))


def _settled(steps: Sequence[_Step], alive: NDArray[np.bool_]) -> tuple[int, int, int | None] | None:
    """The latest token at which all ways to all states that are alive have met, as how many tokens there are up to it,
    and where that was: line, and word or None for talk. None where they never meet.
    """
    words, talks = alive.copy(), np.ones(len(alive), dtype=np.bool_)
    for count in range(len(steps), 0, -1):
        line, word = np.nonzero(words)
        talk = np.flatnonzero(talks)
        if len(line) + len(talk) == 1:
            return (count, int(line[0]), int(word[0])) if len(line) else (count, int(talk[0]), None)
        step = steps[count - 1]
        how, began = step.how[line, word], step.talk_from[talk]
        inside, arrived = how != _ARRIVE, line[how == _ARRIVE]
        left_line, left_word = step.left_line[arrived], step.left_word[arrived]
        words, talks = np.zeros_like(words), np.zeros_like(talks)
        words[line[inside], np.where(how == _STAY, word, how)[inside]] = True
        words[left_line[left_word >= 0], left_word[left_word >= 0]] = True
        words[talk[began >= 0], began[began >= 0]] = True
        talks[left_line[left_word < 0]] = True
        talks[talk[began < 0]] = True
    return None


def _backward(steps: Sequence[_Step], line: int, word: int | None) -> list[_Place]:
    """The way that ends at this word of the line, or in talk after it, for these steps."""
    path: list[_Place] = []
    for step in reversed(steps):
        if word is None:
            path.append(_Place(line, None, False, False))
            came_from = int(step.talk_from[line])
            word = None if came_from < 0 else came_from
            continue
        how = int(step.how[line, word])
        path.append(_Place(line, word, how == _ARRIVE, how != _STAY))
        if how >= 0:
            word = how
        elif how == _ARRIVE:
            left_word = int(step.left_word[line])
            line = int(step.left_line[line])
            word = None if left_word < 0 else left_word
    path.reverse()
    return path


def _runs(path: Sequence[_Place], likeness: Callable[[int, int, int], float]) -> tuple[Run, ...]:
    runs: list[Run] = []
    first = 0
    fits: list[Fit] = []
    for at, place in enumerate(path):
        if place.word is not None and place.fitted:
            fits.append(Fit(place.word, at, likeness(at, place.line, place.word)))
        following = path[at + 1] if at + 1 < len(path) else None
        goes_on = following is not None and not following.arrived and (following.word is None) == (place.word is None)
        if not goes_on:
            runs.append(Run(None if place.word is None else place.line, first, at, tuple(fits)))
            first, fits = at + 1, []
    return tuple(runs)


def twins_in_order(
    script: Script, lines: Sequence[int], others: Sequence[Mapping[int, float]] = (), costs: Costs | None = None
) -> tuple[int, ...]:
    """The lines again, each at its best place among the lines of the script that have its very words, or among its
    ``others``, with what each of these costs more.

    Lines that are alike can only be told apart by what stands before and after them: the cheapest way through.
    """
    return _cheapest_way(script, lines, others, costs or Costs())[1]


def order_cost(script: Script, lines: Sequence[int], costs: Costs | None = None) -> float:
    """What speaks against these lines one after another, each at its best place among those of its very words."""
    return _cheapest_way(script, lines, (), costs or Costs())[0]


def _cheapest_way(
    script: Script, lines: Sequence[int], others: Sequence[Mapping[int, float]], costs: Costs
) -> tuple[float, tuple[int, ...]]:
    if not lines:
        return 0.0, ()
    jump = _jump_costs(script, costs)
    words = [line.spoken for line in script.lines]
    places = [
        {other: 0.0 if other == line else 0.1 for other, spoken in enumerate(words) if spoken == words[line]}
        for line in lines
    ]
    if others:
        places = [{**mine, **more} for mine, more in zip(places, others, strict=True)]
    best: dict[int, tuple[float, tuple[int, ...]]] = {line: (cost, (line,)) for line, cost in places[0].items()}
    for mine in places[1:]:
        best = {
            line: min((before + float(jump[path[-1], line]) + cost, (*path, line)) for before, path in best.values())
            for line, cost in mine.items()
        }
    return min(best.values())
