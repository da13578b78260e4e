"""Lines that are missing in several passes, where the same is heard in their place each time: of "Tick, tock." a
recogniser makes "Deep target.", surely, in every pass. Nobody makes one remark twice instead of one line."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from lessoncut import wording
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.examples import ABOUT_AS_LONG, gaps
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid_anyway

ALIKE = 0.8
"""Of what was heard."""
LASTS = (0.5, 2.0)
"""Of the time that the line takes."""
ANOTHERS = 0.5
"""So like the line before or behind, what was heard is that, said again, be it by a learner."""


def with_lines_missing_twice(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with those lines; and what is left of the talk."""
    places: dict[int, list[tuple[Attempt, Unscripted]]] = defaultdict(list)
    for before, line, talk in _places(ground, attempts, left):
        places[line].append((before, talk))
    likely: dict[Unscripted, list[Candidate]] = defaultdict(list)
    for line, talks in places.items():
        for (before, one), (before_other, other) in combinations(talks, 2):
            if before is not before_other and _are_alike(one, other):
                for talk in (one, other):
                    likely[talk].append(ground.whole(line, talk.span))
    answers = ground.ask([look for looks in likely.values() for look in looks])
    found = []
    for talk, looks in likely.items():
        best = max(looks, key=lambda look: (answers[look].mean_score, -look.line))
        found.append(laid_anyway(ground, best, answers[best], talk.words, CLEAR_COST))
    return sorted([*attempts, *found], key=lambda each: each.span), [talk for talk in left if talk not in likely]


def _places(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> Iterator[tuple[Attempt, int, Unscripted]]:
    """The passage's lines that are missing behind a reading, and talk there that lasts as long as they do."""
    for gap in gaps(ground, attempts, [talk for talk in left if talk.words]):
        beside = [ground.spoken_words[each.line] for each in (gap.before, gap.after)]
        for talk in gap.inside:
            if not isinstance(talk, Unscripted):
                continue
            if any(wording.row_likeness(said(talk.words), words) >= ANOTHERS for words in beside):
                continue
            for line in gap.missing:
                look = ground.whole(line, talk.span)
                if ground.script.lines[line].in_passage and LASTS[0] < ground.lasts(look) < LASTS[1]:
                    yield gap.before, line, talk


def _are_alike(one: Unscripted, other: Unscripted) -> bool:
    """Whether the same was heard in both, and both are as long."""
    if not ABOUT_AS_LONG[0] < one.span.length_ms / other.span.length_ms < ABOUT_AS_LONG[1]:
        return False
    return wording.row_likeness(said(one.words), said(other.words)) >= ALIKE
