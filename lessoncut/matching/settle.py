"""Settle what each piece of the take is, by its words and by its sound.

For every stretch of speech there are hypotheses: a line in full, a line broken off after so many words, or talk
outside the script. Four witnesses speak for or against each: how well the sound fits its words, how like the heard
words are to them, whether it lasts as long as these words take, and whether it leaves speech unexplained. None is
trusted alone: a recogniser mishears, an aligner accepts what is alike, and both are wrong in different places.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import mean, median

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord, Hearing
from lessoncut.matching.changes import differences, supported, with_change
from lessoncut.matching.lay import Ask, Candidate, ask_all, laid_span, speech_share, stretches, windows
from lessoncut.matching.pieces import Piece, pieces_of
from lessoncut.matching.records import Change, ReadWord
from lessoncut.script.records import Script
from lessoncut.times import Span, merged, without

UNKNOWN_MS = 150
"""Left-over speech shorter than this is a breath, a click or a ragged edge."""
LEFT_OVER_PAD_MS = 80
RAGGED_MS = 350
"""The same where it runs on from a reading, or into one, without a pause."""
TOGETHER_MS = 700
"""Left-over speech with smaller holes than this may be one attempt."""
MOST_TOGETHER = 5
LEAST_CANDIDATE_LINES = 4
USUAL_LINE_MS = 2500
FEW = 3
"""Attempts on either side, and lines ahead, that are asked about though others are more likely there."""
LONG_UNKNOWN_MS = 10_000
"""So much between two attempts may hold the rest of one pass and the start of the next."""
MOST_ROUNDS = 3
SMALL_STEP_BACK = 2
"""Lines: going back so little is a retake, more is the next pass."""
LONGEST_START = 8
"""Words of a broken-off start that nobody heard."""
CHANGE_SUPPORT = 12.0
"""How much better, in log score a frame, the sound must fit the heard words than the script's."""
DEFAULT_SYLLABLE_MS = 230.0
DEFAULT_SCORE = -15.0
"""Mean score of a line that was said; noise and a voice unlike the aligner's lower it for the whole take."""

# What the witnesses' words weigh. One unit is about as much doubt as one word that does not fit.
SCORE_SLACK = 5.0
SCORE_UNIT = 7.0
POOR_WORD_SCORE = -60.0
POOR_WORD_UNIT = 30.0
NO_PATH_COST = 2.5
TEXT_WEIGHT = 4.0
LENGTH_WEIGHT = 2.5
LENGTH_SLACK = 0.35
"""Natural logarithm: lines a third shorter or longer than usual are nothing special."""
LEFT_WEIGHT = 3.0
LOST_WORD_COST = 0.8
"""For a heard word that the hypothesis has no place for."""
RESTART_GAIN = -0.5
UNREAD_COST = 0.5
"""For speech that gave no words at all."""
RUNS_ON_MS = 250
TALK_BESIDE_COST = 1.5
"""For talk that goes on from a line, or into one, without a pause: more likely the line itself, misheard."""
BROKEN_OFF_COST = 0.6
UNLIKELY_PLACE_COST = 0.8
TALK_COST = 2.6
"""A stretch whose best hypothesis costs more is talk, or speech nobody could read."""
HEARD_LINE_COST = 3.4
"""The same where the words were heard as that line's."""
CLEAR_COST = 1.0
"""A line heard and laid this well is not asked about again."""


@dataclass(frozen=True)
class Attempt:
    """A line, or its first ``upto`` words, laid on the sound.

    ``doubt`` is the cost of the best hypothesis; ``laid`` is False where the recogniser's times had to do.
    """

    line: int
    full: bool
    upto: int
    words: tuple[ReadWord, ...]
    heard: tuple[HeardWord, ...]
    doubt: float
    laid: bool
    changes: tuple[Change, ...] = ()

    @property
    def span(self) -> Span:
        return Span(self.words[0].span.start_ms, self.words[-1].span.end_ms)

    @property
    def confidence(self) -> float:
        """How sure it is that this line was read here, 0 to 1."""
        return round(min(0.99, 1 / (1 + math.exp(1.6 * (self.doubt - TALK_COST)))), 2)


@dataclass(frozen=True)
class Unscripted:
    """Speech that is no line. ``words`` is empty where nobody could read it."""

    span: Span
    words: tuple[HeardWord, ...]


@dataclass(frozen=True)
class Settled:
    """Both in time order, without overlap."""

    attempts: tuple[Attempt, ...]
    unscripted: tuple[Unscripted, ...]


class Settler:
    """The steps from pieces to attempts for one take; holds what every step needs and nothing else."""

    def __init__(self, script: Script, hearing: Hearing, ask: Ask) -> None:
        self.script = script
        self.hearing = hearing
        self.ask = ask
        self.spoken_words = tuple(wording.spoken(line.text) for line in script.lines)
        self.line_ids = tuple(line.id for line in script.lines)
        self.passage = [index for index, line in enumerate(script.lines) if line.in_passage]
        self.syllables = tuple(tuple(map(wording.syllables, words)) for words in self.spoken_words)
        self._speech_ends = [span.end_ms for span in hearing.speech]
        self.syllable_ms = DEFAULT_SYLLABLE_MS
        self.usual_score = DEFAULT_SCORE

    def settle(self) -> Settled:
        pieces = pieces_of(self.script, self.hearing)
        self.syllable_ms = self._pace(pieces)
        attempts = self._lay_lines(pieces)
        left: list[Unscripted] = []
        for _ in range(MOST_ROUNDS):
            found, left = self._name_unknown(self._unknown(pieces, attempts), attempts)
            # What was found narrows down what may stand beside it.
            attempts = list(_without_overlap(sorted([*attempts, *found], key=lambda attempt: attempt.span)))
            if not found:
                break
        return Settled(self._with_changes(attempts), tuple(left))

    # -- the witnesses ------------------------------------------------------------------------------

    def _pace(self, pieces: Sequence[Piece]) -> float:
        """Milliseconds a syllable, from the lines heard in full."""
        paces = []
        for piece in pieces:
            if piece.line is None or piece.fitting < len(self.spoken_words[piece.line]):
                continue
            speech_ms = sum(s.overlap_ms(piece.span) for s in self._speech(piece.span))
            paces.append(speech_ms / sum(self.syllables[piece.line]))
        return median(paces) if len(paces) >= 3 else DEFAULT_SYLLABLE_MS

    def _usual_score(
        self, lines: Sequence[tuple[Piece, tuple[Span, ...], int]], answers: dict[Candidate, Alignment]
    ) -> float:
        """The middle mean score of the lines heard in full."""
        scores = []
        for piece, touched, _ in lines:
            assert piece.line is not None
            length = len(self.spoken_words[piece.line])
            whole = answers.get(Candidate(piece.line, length, touched[0].hull(touched[-1])))
            if piece.fitting == length and whole and whole.words:
                scores.append(whole.mean_score)
        return median(scores) if len(scores) >= 3 else DEFAULT_SCORE

    def _expected_ms(self, line: int, upto: int) -> float:
        return self.syllable_ms * sum(self.syllables[line][:upto]) + 80

    def _speech(self, span: Span) -> list[Span]:
        first = bisect_right(self._speech_ends, span.start_ms)
        found = []
        for candidate in self.hearing.speech[first:]:
            if candidate.start_ms >= span.end_ms:
                break
            found.append(candidate)
        return found

    def _cost(
        self,
        candidate: Candidate,
        alignment: Alignment,
        explained: Span,
        words_heard: Sequence[HeardWord],
        near: Sequence[int],
    ) -> float:
        """How much speaks against the hypothesis. ``explained`` is all the speech it ought to account for."""
        words = self.spoken_words[candidate.line][: candidate.upto]
        heard = [part for word in words_heard for part in _said(word)]
        trust = min(1.0, max(0.25, 1.1 * mean(word.probability for word in words_heard))) if heard else 0.0
        cost = NO_PATH_COST
        if alignment.words:
            cost = max(0.0, (self.usual_score - SCORE_SLACK - alignment.mean_score) / SCORE_UNIT)
            cost += max(0.0, (POOR_WORD_SCORE - alignment.worst_score) / POOR_WORD_UNIT)
        if heard:
            cost += TEXT_WEIGHT * min(1.0, 0.4 + 0.15 * len(heard)) * (1.0 - wording.row_likeness(heard, words)) * trust
        laid = laid_span(alignment) if alignment.words else candidate.stretch
        speech_ms = sum(s.overlap_ms(laid) for s in self._speech(laid))
        ratio = max(speech_ms, 40) / self._expected_ms(candidate.line, candidate.upto)
        cost += LENGTH_WEIGHT * max(0.0, abs(math.log(ratio)) - LENGTH_SLACK)
        share = speech_share(alignment, explained, self.hearing.speech) if alignment.words else 1.0
        cost += LEFT_WEIGHT * max(0.0, 0.9 - share)
        broken_off = candidate.upto < len(self.spoken_words[candidate.line])
        if broken_off:
            cost += BROKEN_OFF_COST
        if near and candidate.line != near[0]:
            # A broken-off start is mostly of the line that follows it.
            cost += (BROKEN_OFF_COST if broken_off else 0.0) + (0.0 if candidate.line in near else UNLIKELY_PLACE_COST)
        return cost

    # -- lines the recogniser heard -----------------------------------------------------------------

    def _lay_lines(self, pieces: Sequence[Piece]) -> list[Attempt]:
        lines = [(piece, self._touched(pieces, at), at) for at, piece in enumerate(pieces) if piece.line is not None]
        wider = {at: self._with_talk_beside(pieces, at) for _, _, at in lines}
        first = self._ask([c for piece, touched, _ in lines for c in self._first_look(piece, touched)])
        self.usual_score = self._usual_score(lines, first)
        attempts: dict[int, Attempt] = {}
        again: list[tuple[Piece, tuple[Span, ...], int]] = []
        for piece, touched, at in lines:
            best = self._best(piece, self._first_look(piece, touched), first)
            attempts[at] = best
            if best.doubt > CLEAR_COST:
                again.append((piece, self._room(pieces, at), at))
        for at, piece in wider.items():
            if piece is not pieces[at] and not attempts[at].full:
                again.append((piece, tuple(s.clipped(piece.span) for s in self._speech(piece.span)), at))
        more = self._ask([c for piece, room, _ in again for c in self._second_look(piece, room)])
        for piece, room, at in again:
            other = self._best(piece, self._second_look(piece, room), more)
            talk_left = 0.0 if piece is pieces[at] else TALK_BESIDE_COST
            if other.doubt < attempts[at].doubt + talk_left and (piece is pieces[at] or other.full):
                attempts[at] = other
        return [attempt for attempt in attempts.values() if attempt.doubt <= HEARD_LINE_COST]

    def _with_talk_beside(self, pieces: Sequence[Piece], at: int) -> Piece:
        """The piece with the talk that runs into it or out of it without a pause: it may be the line, misheard."""
        piece = pieces[at]
        assert piece.line is not None
        if piece.last_word + 1 >= len(self.spoken_words[piece.line]) and piece.first_word == 0:
            return piece
        beside = [
            other
            for other in (pieces[at - 1] if at else None, pieces[at + 1] if at + 1 < len(pieces) else None)
            if other and other.line is None and other.span.gap_to_ms(piece.span) < RUNS_ON_MS
        ]
        if not beside:
            return piece
        words = tuple(sorted({*piece.words, *(w for other in beside for w in other.words)}, key=lambda w: w.span))
        return replace(piece, span=words[0].span.hull(words[-1].span), words=words, fits=())

    def _first_look(self, piece: Piece, touched: Sequence[Span]) -> list[Candidate]:
        assert piece.line is not None
        length = len(self.spoken_words[piece.line])
        looks = [Candidate(piece.line, length, stretch) for stretch in stretches(touched)]
        if piece.last_word + 1 < length:
            whole = touched[0].hull(touched[-1])
            looks += [Candidate(piece.line, piece.last_word + 1, whole)]
        return looks

    def _second_look(self, piece: Piece, room: Sequence[Span]) -> list[Candidate]:
        assert piece.line is not None
        length = len(self.spoken_words[piece.line])
        uptos = {length, *(range(max(1, piece.last_word), min(length, piece.last_word + 3)))}
        return [
            Candidate(piece.line, upto, stretch)
            for upto in sorted(uptos, reverse=True)
            for stretch in stretches(room)
            if 0.5 < stretch.length_ms / self._expected_ms(piece.line, upto) < 2.2
        ]

    def _limits(self, pieces: Sequence[Piece], at: int) -> Span:
        """Up to the piece's worded neighbours on both sides."""
        piece = pieces[at]
        before = next((self._core(p).end_ms for p in reversed(pieces[:at]) if p.words), 0)
        after = next((self._core(p).start_ms for p in pieces[at + 1 :] if p.words), self.hearing.duration_ms)
        return Span(min(before, piece.span.start_ms), max(after, piece.span.end_ms))

    def _core(self, piece: Piece) -> Span:
        """The piece without a first or last word that a pause parts from the rest: recognisers smear across pauses."""
        words = piece.words
        if len(words) < 3:
            return piece.span
        first = 1 if self._apart(words[0], words[1]) else 0
        last = -2 if self._apart(words[-2], words[-1]) else -1
        return words[first].span.hull(words[last].span)

    def _apart(self, word: HeardWord, following: HeardWord) -> bool:
        between = Span(word.span.middle_ms, max(word.span.middle_ms, following.span.middle_ms))
        spoken_ms = sum(s.overlap_ms(between) for s in self._speech(between))
        return between.length_ms - spoken_ms >= RUNS_ON_MS

    def _touched(self, pieces: Sequence[Piece], at: int) -> tuple[Span, ...]:
        """The speech that the piece's words touch."""
        piece, limits = pieces[at], self._limits(pieces, at)
        touched = [s.clipped(limits) for s in self._speech(piece.span) if s.clipped(limits).length_ms >= 60]
        return tuple(s for s in touched if s.overlap_ms(piece.span) >= 40) or (piece.span,)

    def _room(self, pieces: Sequence[Piece], at: int) -> tuple[Span, ...]:
        """All the speech around the piece that it may fill."""
        near = self._limits(pieces, at).clipped(pieces[at].span.padded(2500, 1500))
        room = [s.clipped(near) for s in self._speech(near)]
        return tuple(s for s in room if s.length_ms >= 60) or (pieces[at].span,)

    def _best(self, piece: Piece, looks: Sequence[Candidate], answers: dict[Candidate, Alignment]) -> Attempt:
        assert piece.line is not None
        best: tuple[float, Candidate, Alignment] | None = None
        for candidate in looks:
            alignment = answers[candidate]
            heard = [word for word in piece.words if word.span.overlap_ms(candidate.stretch)]
            lost = [part for word in piece.words if word not in heard for part in _said(word)]
            cost = self._cost(candidate, alignment, candidate.stretch, heard, ()) + (0.0 if heard else 3.0)
            cost += RESTART_GAIN if lost and self._restarts(candidate, alignment, lost) else LOST_WORD_COST * len(lost)
            if best is None or cost < best[0] - 1e-9:
                best = (cost, candidate, alignment)
        if best is None:
            return self._as_heard(piece, TALK_COST)
        cost, candidate, alignment = best
        if not alignment.words:
            return self._as_heard(piece, cost)
        return self._laid(candidate, alignment, piece, cost)

    def _restarts(self, candidate: Candidate, alignment: Alignment, lost: Sequence[str]) -> bool:
        """Whether the whole line stands in the stretch, and what was heard outside it is only its beginning.

        A recogniser gives words said twice in a row but once; which of the two is complete, the sound tells.
        """
        words = self.spoken_words[candidate.line]
        if candidate.upto < len(words) or alignment.worst_score < POOR_WORD_SCORE or len(lost) >= len(words):
            return False
        clear = alignment.mean_score >= self.usual_score - SCORE_SLACK
        return clear and wording.row_likeness(lost, words[: len(lost)]) >= 0.6

    def _laid(self, candidate: Candidate, alignment: Alignment, piece: Piece | None, doubt: float) -> Attempt:
        by_word = self._heard_by_word(piece) if piece else {}
        words = tuple(ReadWord(word.text, word.span, by_word.get(at)) for at, word in enumerate(alignment.words))
        full = candidate.upto == len(self.spoken_words[candidate.line])
        heard = piece.words if piece else ()
        return Attempt(candidate.line, full, candidate.upto, words, heard, doubt, laid=True)

    @staticmethod
    def _heard_by_word(piece: Piece) -> dict[int, str]:
        spellings = [spoken for word in piece.words for spoken in _said(word)]
        return {
            fit.word: spellings[fit.token - piece.first_token]
            for fit in piece.fits
            if 0 <= fit.token - piece.first_token < len(spellings)
        }

    def _as_heard(self, piece: Piece, doubt: float) -> Attempt:
        """The recogniser's own times, where the aligner found no path."""
        assert piece.line is not None
        length = len(self.spoken_words[piece.line])
        speech_ms = sum(s.overlap_ms(piece.span) for s in self._speech(piece.span))
        full = piece.last_word + 1 >= length - 1 or speech_ms > 0.8 * self._expected_ms(piece.line, length)
        upto = length if full else piece.last_word + 1
        texts = self.spoken_words[piece.line][:upto]
        start, whole = piece.span.start_ms, piece.span.length_ms
        marks = [start + whole * at // max(1, len(texts)) for at in range(len(texts) + 1)]
        by_word = self._heard_by_word(piece)
        words = tuple(
            ReadWord(text, Span(*between), by_word.get(at))
            for at, (text, between) in enumerate(zip(texts, pairwise(marks), strict=True))
        )
        return Attempt(piece.line, full, upto, words, piece.words, doubt, laid=False)

    # -- speech that no line accounts for yet -------------------------------------------------------

    def _unknown(self, pieces: Sequence[Piece], attempts: Sequence[Attempt]) -> list[tuple[Unscripted, ...]]:
        """Left-over speech, and talk: groups in time order of stretches that may belong together."""
        taken = merged(a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in attempts)
        barriers = [a.span for a in attempts]
        spoken_for = {word for a in attempts for word in a.heard if any(word.span.overlap_ms(t) for t in taken)}
        loose = [word for piece in pieces for word in piece.words if word not in spoken_for]
        groups: list[list[Unscripted]] = []
        for span in self.hearing.speech:
            for part in without(span, (t for t in taken if t.overlap_ms(span))):
                if part.length_ms < (UNKNOWN_MS if part == span else RAGGED_MS):
                    continue
                stretch = Unscripted(part, tuple(w for w in loose if part.contains(w.span.middle_ms)))
                last = groups[-1][-1].span if groups else None
                together = last and last.gap_to_ms(part) <= TOGETHER_MS and not _between(last, part, barriers)
                if together and len(groups[-1]) < MOST_TOGETHER:
                    groups[-1].append(stretch)
                else:
                    groups.append([stretch])
        return [tuple(group) for group in groups]

    def _candidate_lines(self, at: Span, attempts: Sequence[Attempt]) -> tuple[list[int], list[int]]:
        """Lines that may be said between the attempts on either side; those to be expected first."""
        earlier = [a for a in attempts if a.span.end_ms <= at.start_ms + LEFT_OVER_PAD_MS]
        later = [a for a in attempts if a.span.start_ms >= at.end_ms - LEFT_OVER_PAD_MS]
        before, after = [a.line for a in earlier], [a.line for a in later]
        last = before[-1] if before else -1
        following = after[0] if after else len(self.line_ids)
        long = not earlier or not later or earlier[-1].span.gap_to_ms(later[0].span) >= LONG_UNKNOWN_MS
        between = self._between_lines(last, following, long=long)
        side = LEAST_CANDIDATE_LINES + round(at.length_ms / USUAL_LINE_MS)
        if len(between) > 2 * side:
            between = between[:side] + between[-side:]
        beyond = [*after[1:FEW], *reversed(before[-FEW:]), *range(last + 1, last + 1 + FEW)]
        lines = [line for line in dict.fromkeys([following, *between, last, *beyond]) if 0 <= line < len(self.line_ids)]
        return lines, [line for line in lines if line in {following, last + 1} or line in between]

    def _between_lines(self, last: int, following: int, *, long: bool) -> list[int]:
        """The lines after ``last`` and before ``following``, round the end of the passage where that is the way."""
        if last < following:
            return list(range(last + 1, following))
        if last not in self.passage or following not in self.passage:
            return []
        if last - following <= SMALL_STEP_BACK and not long:
            return []
        return [*range(last + 1, self.passage[-1] + 1), *range(self.passage[0], following)]

    def _name_unknown(
        self, groups: Sequence[tuple[Unscripted, ...]], attempts: Sequence[Attempt]
    ) -> tuple[list[Attempt], list[Unscripted]]:
        near = [self._candidate_lines(group[0].span.hull(group[-1].span), attempts) for group in groups]
        options = [
            {joined: self._options(joined, lines) for joined in _joined(group)}
            for group, (lines, _) in zip(groups, near, strict=True)
        ]
        answers = self._ask([c for by_stretch in options for mine in by_stretch.values() for c in mine])
        found: list[Attempt] = []
        left: list[Unscripted] = []
        for group, by_stretch, (_, expected) in zip(groups, options, near, strict=True):
            named = {joined: self._named(joined, mine, expected, answers) for joined, mine in by_stretch.items()}
            for stretch, attempt in _cheapest(group, named):
                if attempt:
                    found.append(attempt)
                left += self._left_over(stretch, [attempt] if attempt else [])
        return found, left

    def _options(self, stretch: Unscripted, lines: Sequence[int]) -> list[Candidate]:
        mine = []
        for line in lines:
            length = len(self.spoken_words[line])
            for upto in sorted({length, *range(1, min(length, LONGEST_START + 1))}, reverse=True):
                ratio = stretch.span.length_ms / self._expected_ms(line, upto)
                if (0.5 if upto > 1 else 0.25) < ratio < 2.2:
                    mine.append(Candidate(line, upto, stretch.span))
        return mine

    def _named(
        self,
        stretch: Unscripted,
        mine: Sequence[Candidate],
        near: Sequence[int],
        answers: dict[Candidate, Alignment],
    ) -> Attempt | None:
        """The line that the stretch most likely is; None for talk."""
        costs = [
            (self._cost(candidate, answers[candidate], stretch.span, stretch.words, near), candidate)
            for candidate in mine
            if answers[candidate].words
        ]
        if not costs:
            return None
        cost, candidate = min(costs, key=lambda item: item[0])
        cost += 0.0 if stretch.words else UNREAD_COST
        if cost > TALK_COST:
            return None
        attempt = self._laid(candidate, answers[candidate], None, cost)
        return replace(attempt, heard=tuple(w for w in stretch.words if w.span.overlap_ms(attempt.span)))

    def _left_over(self, stretch: Unscripted, named: Sequence[Attempt]) -> list[Unscripted]:
        """What remains of the stretch beside the attempts found in it."""
        if not named:
            return [stretch]
        holes = [a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in named]
        parts = [p for s in self._speech(stretch.span) for p in without(s.clipped(stretch.span), holes)]
        return [
            Unscripted(part, tuple(w for w in stretch.words if part.contains(w.span.middle_ms)))
            for part in parts
            if part.length_ms >= RAGGED_MS
        ]

    # -- words changed inside a line ------------------------------------------------------------------

    def _with_changes(self, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
        """Each full reading with the words that the sound, too, says were changed."""
        asked: list[AlignmentRequest] = []
        differing: list[tuple[int, tuple[Change, ...]]] = []
        for at, attempt in enumerate(attempts):
            if not (attempt.full and attempt.heard and attempt.laid):
                continue
            script_words = self.spoken_words[attempt.line]
            said = [(spoken, word.probability) for word in attempt.heard for spoken in _said(word)]
            changes = differences(script_words, [spoken for spoken, _ in said], [sure for _, sure in said])
            if not changes:
                continue
            differing.append((at, changes))
            window = windows(attempt.span, self.hearing.speech, self.hearing.duration_ms)
            for words in (script_words, *(with_change(script_words, change) for change in changes)):
                asked.append(AlignmentRequest(self.line_ids[attempt.line], words, window))
        answers = iter(self.ask(asked) if asked else ())
        changed = list(attempts)
        for at, changes in differing:
            as_script = next(answers)
            believed = [supported(change, as_script, next(answers)) for change in changes]
            changed[at] = replace(attempts[at], changes=tuple(c for c in believed if c.support >= CHANGE_SUPPORT))
        return tuple(changed)

    def _ask(self, candidates: Sequence[Candidate]) -> dict[Candidate, Alignment]:
        return ask_all(
            self.ask, candidates, self.line_ids, self.spoken_words, self.hearing.speech, self.hearing.duration_ms
        )


def _said(word: HeardWord) -> tuple[str, ...]:
    return wording.spoken(word.text)


def _joined(group: Sequence[Unscripted]) -> list[Unscripted]:
    """Every run of neighbouring stretches as one."""
    return [_as_one(group[first:last]) for first in range(len(group)) for last in range(first + 1, len(group) + 1)]


def _as_one(stretches_: Sequence[Unscripted]) -> Unscripted:
    words = tuple(word for stretch in stretches_ for word in stretch.words)
    return Unscripted(stretches_[0].span.hull(stretches_[-1].span), words)


def _cheapest(
    group: Sequence[Unscripted], named: dict[Unscripted, Attempt | None]
) -> list[tuple[Unscripted, Attempt | None]]:
    """The group split into attempts and talk, at the least doubt in all; talk runs are joined."""
    best: list[tuple[float, list[tuple[Unscripted, Attempt | None]]]] = [(0.0, [])]
    for end in range(1, len(group) + 1):
        ways = []
        for first in range(end):
            joined = _as_one(group[first:end])
            attempt = named[joined]
            cost = attempt.doubt if attempt else TALK_COST * (end - first)
            ways.append((best[first][0] + cost, [*best[first][1], (joined, attempt)]))
        best.append(min(ways, key=lambda way: (way[0], len(way[1]))))
    return best[-1][1]


def _between(a: Span, b: Span, barriers: Sequence[Span]) -> bool:
    return any(barrier.overlap_ms(a.hull(b)) for barrier in barriers)


def _without_overlap(attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Two attempts cannot share sound: the one with less doubt stands."""
    kept: list[Attempt] = []
    for attempt in attempts:
        shorter_ms = min(kept[-1].span.length_ms, attempt.span.length_ms) if kept else 0
        if kept and kept[-1].span.overlap_ms(attempt.span) > 0.5 * shorter_ms:
            if attempt.doubt < kept[-1].doubt:
                kept[-1] = attempt
        else:
            kept.append(attempt)
    return tuple(kept)
