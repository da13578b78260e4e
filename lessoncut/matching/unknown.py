"""Name the speech that no heard line accounts for: a line nobody heard, a broken-off start, or talk."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lessoncut.hearing.records import Alignment, HeardWord
from lessoncut.matching.attempts import TALK_COST, TALK_ON_COST, Attempt, Unscripted
from lessoncut.matching.differences import misread_too
from lessoncut.matching.doubt import are_weighed, clearly_others, clearness, doubt, unasked_doubt
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.matching.pieces import Piece
from lessoncut.times import Span, SpanIndex, merged, without

UNKNOWN_MS = 150
"""Left-over speech shorter than this is a breath, a click or a ragged edge."""
LEFT_OVER_PAD_MS = 80
LOOSE_MS = 60
"""How far outside its speech the middle of a heard word may lie."""
RAGGED_MS = 350
"""The same where it runs on from a reading, or into one, without a pause."""
TOGETHER_MS = 700
"""Left-over speech with smaller holes than this may be one attempt."""
MOST_TOGETHER = 8
LEAST_CANDIDATE_LINES = 4
USUAL_LINE_MS = 2500
FEW = 3
"""Attempts on either side, and lines ahead, that are asked about though others are more likely there."""
LONG_UNKNOWN_MS = 10_000
"""So much between two attempts may hold the rest of one pass and the start of the next."""
SMALL_STEP_BACK = 2
"""Lines: going back so little is a retake, more is the next pass."""
LASTS, LASTS_ALONE = (0.5, 2.2), (0.25, 3.0)
"""Of the time that words take; a single one may be swallowed or drawn out."""
FIRST_WORDS = 3
"""A stretch in which so many of a line's first words were heard once more behind a pause is more than that line."""
LONGEST_START = 8
"""Words of a broken-off start that nobody heard."""
LACKING_GAIN, SHARED_GAIN, LEAST_SHARED = 1.2, 1.0, 2
"""For a whole line that is missing just there; and more for the share of its own words among those heard, if of so
many: it may have been misread, and misheard besides."""
RESTART_GAIN = 0.6
"""For a start right after a start of the same line: who breaks off once may do it again."""
UNREAD_COST, UNREAD_UNIT, UNREAD = 0.5, 7.0, 0.05
"""For speech that gave no words, or none that is likelier than so: the sound must speak for it, without the slack it
has elsewhere."""


def unknown_speech(
    ground: Ground, pieces: Sequence[Piece], attempts: Sequence[Attempt]
) -> list[tuple[Unscripted, ...]]:
    """Left-over speech, and talk: groups in time order of stretches that may belong together."""
    taken = SpanIndex(merged(a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in attempts))
    spoken_for = {w for a in attempts for w in a.heard if taken.meeting(w.span) or _is_of(ground, w, a)}
    loose = sorted((w for piece in pieces for w in piece.words if w not in spoken_for), key=lambda w: w.span.middle_ms)
    middles = [word.span.middle_ms for word in loose]
    groups: list[list[Unscripted]] = []
    given: set[HeardWord] = set()
    for span in ground.hearing.speech:
        for part in _parts(ground, span, taken):
            reach = part.padded(LOOSE_MS, LOOSE_MS)
            near = loose[bisect_left(middles, reach.start_ms) : bisect_left(middles, reach.end_ms)]
            inside = [word for word in near if word not in given]
            given.update(inside)
            last = groups[-1][-1].span if groups else None
            together = last and last.gap_to_ms(part) <= TOGETHER_MS and not taken.meeting(last.hull(part))
            if together and len(groups[-1]) < MOST_TOGETHER:
                groups[-1].append(Unscripted(part, tuple(inside)))
            else:
                groups.append([Unscripted(part, tuple(inside))])
    return [tuple(group) for group in groups]


def _parts(ground: Ground, span: Span, taken: SpanIndex) -> list[Span]:
    """What is left over of one span of speech, parted where it is still for a moment."""
    left = without(span, taken.meeting(span))
    long = [part for part in left if part.length_ms >= (UNKNOWN_MS if part == span else RAGGED_MS)]
    pieces: list[Span] = []
    for part in long:
        first, *others = _parted(part, ground.holes(part))
        runs_on = part.start_ms > span.start_ms and others and first.length_ms < RAGGED_MS
        pieces += others if runs_on else [first, *others]
    return pieces


def _parted(part: Span, holes: Sequence[Span]) -> list[Span]:
    """The part, cut at those holes that have enough on both sides: the burst of a consonant belongs to its word."""
    pieces: list[Span] = []
    at_ms = part.start_ms
    for hole in holes:
        if hole.start_ms - at_ms >= UNKNOWN_MS <= part.end_ms - hole.end_ms:
            pieces.append(Span(at_ms, hole.start_ms))
            at_ms = hole.end_ms
    return [*pieces, Span(at_ms, part.end_ms)]


def _is_of(ground: Ground, word: HeardWord, attempt: Attempt) -> bool:
    """Whether the word is one of the line's own: what the recogniser gave it of the sound before is something else."""
    words = ground.spoken_words[attempt.line]
    return attempt.full and attempt.laid and any(spoken in words for spoken in said([word]))


@dataclass(frozen=True)
class _Place:
    """What may stand somewhere: all ``lines`` to think of, those to be ``expected`` there, those the take lacks there.

    Indexes into the script's lines, the likeliest first. ``begun`` is the line that was broken off just before.
    """

    lines: tuple[int, ...]
    expected: tuple[int, ...]
    lacking: tuple[int, ...]
    begun: int | None

    def gain(self, ground: Ground, candidate: Candidate, words: Sequence[HeardWord]) -> float:
        """What speaks for the candidate because the take lacks it there, where these ``words`` were heard."""
        lacking = candidate.line in self.lacking and ground.is_full(candidate)
        if not lacking or clearly_others(ground.words_of(candidate), words):
            return 0.0
        heard = said(words)
        shared = len(set(heard).intersection(ground.words_of(candidate)))
        return LACKING_GAIN + (SHARED_GAIN * shared / len(heard) if shared >= LEAST_SHARED else 0.0)


def _place(ground: Ground, at: Span, words: Sequence[HeardWord], attempts: Sequence[Attempt]) -> _Place:
    """Lines that may be said between the attempts on either side, or sound like it."""
    ends = bisect_right(attempts, at.start_ms + LEFT_OVER_PAD_MS, key=lambda a: a.span.end_ms)
    starts = bisect_left(attempts, at.end_ms - LEFT_OVER_PAD_MS, key=lambda a: a.span.start_ms)
    earlier, later = attempts[max(0, ends - FEW) : ends], attempts[starts : starts + FEW]
    before, after = [a.line for a in earlier], [a.line for a in later]
    last = before[-1] if before else -1
    following = after[0] if after else len(ground.script.lines)
    long = not earlier or not later or earlier[-1].span.gap_to_ms(later[0].span) >= LONG_UNKNOWN_MS
    between = _between_lines(ground, last, following, long=long)
    side = LEAST_CANDIDATE_LINES + round(at.length_ms / USUAL_LINE_MS)
    if len(between) > 2 * side:
        between = between[:side] + between[-side:]
    beyond = [*after[1:], *reversed(before), *range(last + 1, last + 1 + FEW)]
    expected = [following, last + 1, *between]
    begun = last if earlier and not earlier[-1].full else None
    if begun is not None:
        expected = [begun, *expected]
    row = [expected[0], *between, last, following, *beyond]
    lines = [line for line in dict.fromkeys(row) if 0 <= line < len(ground.script.lines)]
    lines += [line for line in ground.lines_like(words) if line not in lines]
    lacking = tuple(between) if len(between) <= FEW else ()
    return _Place(tuple(lines), tuple(line for line in lines if line in expected), lacking, begun)


def _between_lines(ground: Ground, last: int, following: int, *, long: bool) -> list[int]:
    """The lines after ``last`` and before ``following``, round the end of the passage where that is the way."""
    if last < following:
        return list(range(last + 1, following))
    if last not in ground.passage or following not in ground.passage:
        return []
    if last - following <= SMALL_STEP_BACK and not long:
        return []
    return [*range(last + 1, ground.passage[-1] + 1), *range(ground.passage[0], following)]


def name_unknown(
    ground: Ground, groups: Sequence[tuple[Unscripted, ...]], attempts: Sequence[Attempt]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The lines found in the groups, and what stays talk or unread speech."""
    whole = [_as_one(group) for group in groups]
    places = [_place(ground, group.span, group.words, attempts) for group in whole]
    options = [
        {joined: _options(ground, joined, place) for joined in _joined(group)}
        for group, place in zip(groups, places, strict=True)
    ]
    answers = ground.ask([c for by_stretch in options for mine in by_stretch.values() for c in mine])
    heard = _heard_laid(ground, [stretch for by_stretch in options for stretch, mine in by_stretch.items() if mine])
    found: list[Attempt] = []
    left: list[Unscripted] = []
    for group, by_stretch, place in zip(groups, options, places, strict=True):
        named = {
            joined: _named(ground, joined, mine, place, answers, heard.get(joined))
            for joined, mine in by_stretch.items()
        }
        for stretch, attempt in _cheapest(ground, place.begun, group, named):
            if attempt:
                found.append(attempt)
            left += _left_over(ground, stretch, [attempt] if attempt else [])
    return found, left


def _heard_laid(ground: Ground, found: Sequence[Unscripted]) -> dict[Unscripted, Alignment]:
    """The words heard, laid on the sound, where a line may have been misheard as them."""
    weighed = [stretch for stretch in found if are_weighed(stretch.words)]
    requests = [ground.request_heard(said(stretch.words), stretch.span) for stretch in weighed]
    return dict(zip(weighed, ground.align(requests), strict=True)) if requests else {}


def _options(ground: Ground, stretch: Unscripted, place: _Place) -> list[Candidate]:
    """What the stretch may be; nothing that would stay talk whatever the aligner said."""
    mine = []
    least = 0.0 if _is_read(stretch) else UNREAD_COST
    longest = max(LONGEST_START, len(said(stretch.words)))
    for line in place.lines:
        length = len(ground.spoken_words[line])
        whole = set[int]() if _begins_again(ground, line, stretch.words) else {length}
        for upto in sorted({*whole, *range(1, min(length, longest + 1))}, reverse=True):
            ratio = stretch.span.length_ms / ground.expected_ms(line, upto)
            candidate = Candidate(line, upto, stretch.span)
            known = least + unasked_doubt(ground, candidate, stretch.span, stretch.words, place.expected)
            known -= place.gain(ground, candidate, stretch.words)
            least_ratio, most_ratio = LASTS if upto > 1 else LASTS_ALONE
            if least_ratio < ratio < most_ratio and known <= TALK_COST:
                mine.append(candidate)
    return mine + misread_too(ground, mine, stretch.words)


def _begins_again(ground: Ground, line: int, words: Sequence[HeardWord]) -> bool:
    """Whether the line's first words were heard, and once more behind a pause."""
    first = ground.spoken_words[line][:FIRST_WORDS]
    begins = [at for at in range(len(words)) if said(words[at : at + FIRST_WORDS])[:FIRST_WORDS] == first]
    return len(first) == FIRST_WORDS and any(at and ground.apart(words[at - 1], words[at]) for at in begins[1:])


def _named(
    ground: Ground,
    stretch: Unscripted,
    mine: Sequence[Candidate],
    place: _Place,
    answers: dict[Candidate, Alignment],
    heard: Alignment | None,
) -> Attempt | None:
    """The line that the stretch most likely is; None for talk. ``heard``: the words heard in it, laid on the sound."""
    costs = [
        (
            doubt(ground, candidate, answers[candidate], stretch.span, stretch.words, place.expected, heard)
            - place.gain(ground, candidate, stretch.words),
            candidate,
        )
        for candidate in mine
        if answers[candidate].words
    ]
    if not costs:
        return None
    cost, candidate = min(costs, key=lambda item: item[0] - clearness(ground, answers[item[1]].mean_score))
    if not _is_read(stretch):
        poorer = max(0.0, ground.usual_score - answers[candidate].mean_score)
        cost += UNREAD_COST + min(1.0, poorer / UNREAD_UNIT)
    if cost > TALK_COST:
        return None
    attempt = laid(ground, candidate, answers[candidate], None, cost)
    return replace(attempt, heard=tuple(w for w in stretch.words if w.span.overlap_ms(attempt.span)))


def _is_read(stretch: Unscripted) -> bool:
    """Whether words were heard in it, be they unsure."""
    return any(word.probability >= UNREAD for word in stretch.words)


def _left_over(ground: Ground, stretch: Unscripted, named: Sequence[Attempt]) -> list[Unscripted]:
    """What remains of the stretch beside the attempts found in it."""
    if not named:
        return [stretch]
    holes = [a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in named]
    parts = [p for s in ground.speech(stretch.span) for p in without(s.clipped(stretch.span), holes)]
    return [
        Unscripted(part, tuple(w for w in stretch.words if part.contains(w.span.middle_ms)))
        for part in parts
        if part.length_ms >= RAGGED_MS
    ]


def _joined(group: Sequence[Unscripted]) -> list[Unscripted]:
    """Every run of neighbouring stretches as one."""
    return [_as_one(group[first:last]) for first in range(len(group)) for last in range(first + 1, len(group) + 1)]


def _as_one(stretches_: Sequence[Unscripted]) -> Unscripted:
    words = tuple(word for stretch in stretches_ for word in stretch.words)
    return Unscripted(stretches_[0].span.hull(stretches_[-1].span), words)


def _talk_cost(stretches_: Sequence[Unscripted]) -> float:
    """Of talk that goes on after a pause, or after a moment of stillness within a breath."""
    gaps = [before.span.gap_to_ms(after.span) for before, after in pairwise(stretches_)]
    return TALK_COST + sum(TALK_COST if gap >= RUNS_ON_MS else TALK_ON_COST for gap in gaps)


def _restarts_again(begun: int | None, before: Sequence[tuple[Unscripted, Attempt | None]], attempt: Attempt) -> bool:
    """Whether a start comes right after another start of the same line; ``begun`` is that of what stands before all."""
    if before:
        last = before[-1][1]
        begun = last.line if last and not last.full else None
    return begun == attempt.line and not attempt.full


def _cheapest(
    ground: Ground, begun: int | None, group: Sequence[Unscripted], named: dict[Unscripted, Attempt | None]
) -> list[tuple[Unscripted, Attempt | None]]:
    """The group split into attempts and talk, at the least doubt in all; talk runs are joined."""
    best: list[tuple[float, list[tuple[Unscripted, Attempt | None]]]] = [(0.0, [])]
    for end in range(1, len(group) + 1):
        ways = []
        for first in range(end):
            joined = _as_one(group[first:end])
            attempt = named[joined]
            if attempt:
                cost = attempt.doubt - clearness(ground, attempt.score)
                cost -= RESTART_GAIN if _restarts_again(begun, best[first][1], attempt) else 0.0
            else:
                cost = _talk_cost(group[first:end])
            ways.append((best[first][0] + cost, [*best[first][1], (joined, attempt)]))
        best.append(min(ways, key=lambda way: (way[0], len(way[1]))))
    return best[-1][1]
