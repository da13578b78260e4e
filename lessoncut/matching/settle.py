"""Settle what each piece of the take is, by its sound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord, Hearing
from lessoncut.matching.changes import differences, supported, with_change
from lessoncut.matching.lay import (
    SPOKEN_SCORE,
    Ask,
    Candidate,
    ask_all,
    laid_span,
    longest_silence_ms,
    speech_share,
    spoken,
    stretches,
    windows,
)
from lessoncut.matching.pieces import Piece, is_full, pieces_of
from lessoncut.matching.records import Change, ReadWord
from lessoncut.script.records import Script
from lessoncut.times import Span, merged, without

UNKNOWN_MS = 150
"""Left-over speech shorter than this is a breath, a click or a ragged edge."""
LEFT_OVER_PAD_MS = 80
TOGETHER_MS = 450
"""Left-over speech with smaller holes than this is one attempt."""
COVERED_SHARE = 0.7
"""Share of a stretch's speech that a believed attempt fills."""
PARTIAL_SCORE = -40.0
"""A broken-off start has few words to be believed by, so each must be clearer."""
MOST_CANDIDATE_LINES = 8
CHANGE_SUPPORT = 4.0
"""How much better, in log score a frame, the sound must fit the heard words than the script's."""


@dataclass(frozen=True)
class Attempt:
    """A line, or its first ``upto`` words, laid on the sound.

    ``score`` is the worst word's; None where the recogniser's times had to do.
    """

    line: int
    full: bool
    upto: int
    words: tuple[ReadWord, ...]
    heard: tuple[HeardWord, ...]
    score: float | None
    changes: tuple[Change, ...] = ()

    @property
    def span(self) -> Span:
        return Span(self.words[0].span.start_ms, self.words[-1].span.end_ms)

    @property
    def confidence(self) -> float:
        """How sure it is that this line was read here: two witnesses are better than one."""
        if self.score is None:
            return 0.6
        believed = self.score >= SPOKEN_SCORE
        return (0.97 if believed else 0.8) if self.heard else (0.85 if believed else 0.5)


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

    def settle(self) -> Settled:
        pieces = pieces_of(self.script, self.hearing)
        attempts = self._lay_lines(pieces)
        unknown = self._unknown(pieces, attempts)
        found, left = self._name_unknown(unknown, attempts)
        everything = sorted([*attempts, *found], key=lambda attempt: attempt.span)
        return Settled(self._with_changes(_without_overlap(everything)), tuple(left))

    # -- lines the recogniser heard ---------------------------------------------------------------

    def _lay_lines(self, pieces: Sequence[Piece]) -> list[Attempt]:
        rooms = [self._room(pieces, at) for at in range(len(pieces))]
        asked: list[Candidate] = []
        for piece, room in zip(pieces, rooms, strict=True):
            if piece.line is None:
                continue
            length = len(self.spoken_words[piece.line])
            uptos = {length, piece.last_word + 1} if not is_full(piece, length) else {length}
            asked += [Candidate(piece.line, upto, stretch) for upto in uptos for stretch in stretches(room)]
        answers = self._ask(asked)
        return [
            self._attempt(piece, room, answers)
            for piece, room in zip(pieces, rooms, strict=True)
            if piece.line is not None
        ]

    def _room(self, pieces: Sequence[Piece], at: int) -> tuple[Span, ...]:
        """The speech that the piece may fill: up to its worded neighbours on both sides."""
        piece = pieces[at]
        before = next((p.span for p in reversed(pieces[:at]) if p.words), Span(0, 0))
        after = next((p.span for p in pieces[at + 1 :] if p.words), None)
        end_ms = after.start_ms if after else self.hearing.duration_ms
        start_ms = min(before.end_ms, piece.span.start_ms)
        limits = Span(start_ms, max(end_ms, piece.span.end_ms))
        room = [s.clipped(limits) for s in self.hearing.speech if s.overlap_ms(limits) >= 60]
        touching = [s for s in room if any(s.overlap_ms(word.span) for word in piece.words)]
        if not touching:
            return (piece.span,)
        near = touching[0].hull(touching[-1]).padded(2500, 1500)
        return tuple(s for s in room if s.overlap_ms(near))

    def _attempt(self, piece: Piece, room: Sequence[Span], answers: dict[Candidate, Alignment]) -> Attempt:
        assert piece.line is not None
        length = len(self.spoken_words[piece.line])
        options = stretches(room)
        whole = [answers[Candidate(piece.line, length, s)] for s in options]
        best = next((a for a in whole if spoken(a) and self._near(piece, a)), None)
        if best:
            return self._laid(piece.line, length, best, piece)
        if is_full(piece, length):
            likely = [a for a in whole if a.words and self._near(piece, a)]
            if likely:
                return self._laid(piece.line, length, max(likely, key=lambda a: a.worst_score), piece)
            return self._as_heard(piece, length)
        upto = piece.last_word + 1
        begun = [answers[Candidate(piece.line, upto, s)] for s in options]
        laid = next((a for a in begun if spoken(a) and self._near(piece, a)), None)
        if laid:
            return self._laid(piece.line, upto, laid, piece)
        return self._as_heard(piece, upto)

    @staticmethod
    def _near(piece: Piece, alignment: Alignment) -> bool:
        """The laid words stand where the recogniser heard them, give or take its smear."""
        return laid_span(alignment).overlap_ms(piece.span.padded(300, 300)) > 0

    def _laid(self, line: int, upto: int, alignment: Alignment, piece: Piece | None) -> Attempt:
        heard = self._heard_by_word(piece) if piece else {}
        words = tuple(ReadWord(word.text, word.span, heard.get(index)) for index, word in enumerate(alignment.words))
        full = upto == len(self.spoken_words[line])
        return Attempt(line, full, upto, words, piece.words if piece else (), alignment.worst_score)

    def _heard_by_word(self, piece: Piece) -> dict[int, str]:
        spellings = [spoken for word in piece.words for spoken in wording.spoken(word.text)]
        return {
            fit.word: spellings[fit.token - piece.first_token]
            for fit in piece.fits
            if 0 <= fit.token - piece.first_token < len(spellings)
        }

    def _as_heard(self, piece: Piece, upto: int) -> Attempt:
        """The recogniser's own times, where the aligner found no path."""
        assert piece.line is not None
        texts = self.spoken_words[piece.line][:upto]
        start, length = piece.span.start_ms, piece.span.length_ms
        marks = [start + length * at // max(1, len(texts)) for at in range(len(texts) + 1)]
        heard = self._heard_by_word(piece)
        words = tuple(ReadWord(text, Span(marks[at], marks[at + 1]), heard.get(at)) for at, text in enumerate(texts))
        return Attempt(piece.line, is_full(piece, len(self.spoken_words[piece.line])), upto, words, piece.words, None)

    # -- speech that no line accounts for yet -----------------------------------------------------

    def _unknown(self, pieces: Sequence[Piece], attempts: Sequence[Attempt]) -> list[Unscripted]:
        """Left-over speech, and talk, as stretches in time order."""
        taken = merged(a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in attempts)
        talk = [word for piece in pieces if piece.line is None for word in piece.words]
        left = [
            part
            for span in self.hearing.speech
            for part in without(span, (t for t in taken if t.overlap_ms(span)))
            if part.length_ms >= UNKNOWN_MS
        ]
        barriers = [a.span for a in attempts]
        joined: list[Span] = []
        for part in left:
            last = joined[-1] if joined else None
            if (
                last
                and last.gap_to_ms(part) <= TOGETHER_MS
                and not any(b.overlap_ms(last.hull(part)) > 0 for b in barriers)
            ):
                joined[-1] = last.hull(part)
            else:
                joined.append(part)
        return [Unscripted(span, tuple(w for w in talk if span.contains(w.span.middle_ms))) for span in joined]

    def _candidate_lines(self, at: Span, attempts: Sequence[Attempt]) -> list[int]:
        """Lines that may be said between the attempts on either side."""
        before = [a.line for a in attempts if a.span.end_ms <= at.start_ms + LEFT_OVER_PAD_MS]
        after = [a.line for a in attempts if a.span.start_ms >= at.end_ms - LEFT_OVER_PAD_MS]
        last = before[-1] if before else -1
        following = after[0] if after else len(self.line_ids)
        between = list(range(last + 1, following)) if last < following else []
        if len(between) > MOST_CANDIDATE_LINES:
            between = between[: MOST_CANDIDATE_LINES // 2] + between[-MOST_CANDIDATE_LINES // 2 :]
        near = [last, last + 1, following, following - 1, *between]
        return [line for line in dict.fromkeys(near) if 0 <= line < len(self.line_ids)]

    def _name_unknown(
        self, unknown: Sequence[Unscripted], attempts: Sequence[Attempt]
    ) -> tuple[list[Attempt], list[Unscripted]]:
        asked: list[Candidate] = []
        options: list[list[Candidate]] = []
        for stretch in unknown:
            inside = [s.clipped(stretch.span) for s in self.hearing.speech if s.overlap_ms(stretch.span)]
            mine = [
                Candidate(line, upto, part)
                for line in self._candidate_lines(stretch.span, attempts)
                for upto in self._uptos(line)
                for part in stretches(inside)
            ]
            options.append(mine)
            asked += mine
        answers = self._ask(asked)
        found: list[Attempt] = []
        left: list[Unscripted] = []
        for stretch, mine in zip(unknown, options, strict=True):
            named = self._best_named(stretch, mine, answers)
            found += named
            left += _left_over(stretch, named, self.hearing.speech)
        return found, left

    def _uptos(self, line: int) -> list[int]:
        length = len(self.spoken_words[line])
        return sorted({length, *range(1, min(length, 8))}, reverse=True)

    def _best_named(
        self, stretch: Unscripted, mine: Sequence[Candidate], answers: dict[Candidate, Alignment]
    ) -> list[Attempt]:
        believed: list[tuple[float, Candidate]] = []
        for candidate in mine:
            alignment = answers[candidate]
            full = candidate.upto == len(self.spoken_words[candidate.line])
            enough = SPOKEN_SCORE if full else PARTIAL_SCORE
            if not spoken(alignment, enough):
                continue
            share = speech_share(alignment, stretch.span, self.hearing.speech)
            if share < (0.5 if full else COVERED_SHARE) or longest_silence_ms(alignment) > 700:
                continue
            believed.append((share + (0.5 if full else 0.0) + alignment.worst_score / 200, candidate))
        if not believed:
            return []
        _, candidate = max(believed, key=lambda item: item[0])
        return [self._laid(candidate.line, candidate.upto, answers[candidate], None)]

    # -- words changed inside a line ---------------------------------------------------------------

    def _with_changes(self, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
        """Each full reading with the words that the sound, too, says were changed."""
        asked: list[AlignmentRequest] = []
        differing: list[tuple[int, tuple[Change, ...]]] = []
        for at, attempt in enumerate(attempts):
            if not attempt.full or not attempt.heard or attempt.score is None:
                continue
            script_words = self.spoken_words[attempt.line]
            heard = [spoken for word in attempt.heard for spoken in wording.spoken(word.text)]
            changes = differences(script_words, heard)
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


def _left_over(stretch: Unscripted, named: Sequence[Attempt], speech: Sequence[Span]) -> list[Unscripted]:
    """What remains of the stretch beside the attempts found in it."""
    if not named:
        return [stretch]
    holes = [a.span.padded(LEFT_OVER_PAD_MS, LEFT_OVER_PAD_MS) for a in named]
    parts = [p for s in speech if s.overlap_ms(stretch.span) for p in without(s.clipped(stretch.span), holes)]
    return [
        Unscripted(part, tuple(w for w in stretch.words if part.contains(w.span.middle_ms)))
        for part in parts
        if part.length_ms >= UNKNOWN_MS
    ]


def _without_overlap(attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Two attempts cannot share sound: the better laid one stands."""
    kept: list[Attempt] = []
    for attempt in attempts:
        if kept and kept[-1].span.overlap_ms(attempt.span) > 0.5 * min(kept[-1].span.length_ms, attempt.span.length_ms):
            if _weight(attempt) > _weight(kept[-1]):
                kept[-1] = attempt
        else:
            kept.append(attempt)
    return tuple(kept)


def _weight(attempt: Attempt) -> tuple[bool, bool, float]:
    return attempt.full, attempt.score is not None, attempt.score or 0.0
