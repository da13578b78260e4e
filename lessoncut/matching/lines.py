"""Lay the lines that the recogniser heard: which attempt is complete, and where exactly its words lie.

The recogniser's words say roughly where a line was said. The aligner is asked about every stretch of speech the line
may fill there, from every pause to every later pause, in two looks: the speech under its words, and, where that leaves
doubt, all the speech around.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest
from statistics import median

from lessoncut import wording
from lessoncut.hearing.records import Alignment, HeardWord
from lessoncut.matching.attempts import TALK_COST, Attempt, evenly
from lessoncut.matching.differences import misread_too
from lessoncut.matching.doubt import POOR_WORD_SCORE, SCORE_SLACK, SURE_WORD, clearness, doubt
from lessoncut.matching.ground import DEFAULT_SCORE, DEFAULT_SYLLABLE_MS, EDGE_MS, RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate, stretches
from lessoncut.matching.pieces import Piece
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span

LOST_WORD_COST = 0.8
"""For a heard word that the hypothesis has no place for."""
RESTART_GAIN = -0.5
TALK_BESIDE_COST = 1.5
"""For talk that goes on from a line, or into one, without a pause: more likely the line itself, misheard. Not where the
line is whole without it."""
HEARD_LINE_COST = 3.4
"""The same where the words were heard as that line's."""
UNLAID_START_COST = 1.5
"""The same of a start that has no path on the sound."""
COMMA_MS = 700
"""A pause inside a line is shorter."""
SURE_END = 0.9
WELL = 0.8
"""Likeness from which a line's outermost word is heard for sure."""
LEAST_TIME = 0.35
"""Of the time that words take; with less they cannot have been said."""
CLEAR_COST = 1.0
"""A line heard and laid this well is not asked about again."""
NO_DOUBT, LITTLE_LOWER = 0.3, 4.0
"""A whole line of so little doubt, and so little below the usual score, is not looked at in parts."""


def pace(ground: Ground, pieces: Sequence[Piece]) -> float:
    """Milliseconds a syllable, from the lines heard in full."""
    paces = []
    for piece in pieces:
        if piece.line is None or piece.fitting < len(ground.spoken_words[piece.line]):
            continue
        speech_ms = ground.speech_ms(piece.span)
        paces.append(speech_ms / sum(ground.syllables[piece.line]))
    return median(paces) if len(paces) >= 3 else DEFAULT_SYLLABLE_MS


def lay_lines(ground: Ground, pieces: Sequence[Piece]) -> tuple[Ground, list[Attempt]]:
    """The lines the recogniser heard, each where the sound bears it out; and the take's usual score."""
    lines = {at: piece for at, piece in enumerate(pieces) if piece.line is not None}
    touched = {at: _touched(ground, pieces, at) for at in lines}
    wholes = {at: _whole(ground, piece, touched[at]) for at, piece in lines.items()}
    answers = ground.ask(list(wholes.values()))
    ground = replace(ground, usual_score=_usual_score(lines, wholes, answers))
    attempts = {at: _best(ground, piece, [wholes[at]], answers) for at, piece in lines.items()}
    unclear = [at for at, attempt in attempts.items() if not _is_clear(ground, lines[at], attempt)]
    looks = {at: _first_look(ground, lines[at], touched[at]) for at in unclear}
    answers |= ground.ask([look for mine in looks.values() for look in mine if look not in answers])
    attempts |= {at: _best(ground, lines[at], mine, answers) for at, mine in looks.items()}
    attempts |= _around(ground, pieces, {at: attempts[at] for at in unclear})
    believed = [
        attempt
        for attempt in attempts.values()
        if attempt.doubt <= (HEARD_LINE_COST if attempt.laid or attempt.full else UNLAID_START_COST)
    ]
    return ground, up_to_the_next(believed)


def _usual_score(lines: dict[int, Piece], wholes: dict[int, Candidate], answers: dict[Candidate, Alignment]) -> float:
    """The middle mean score of the lines heard in full."""
    found = [answers[wholes[at]] for at, piece in lines.items() if piece.fitting == wholes[at].upto]
    scores = [alignment.mean_score for alignment in found if alignment.words]
    return median(scores) if len(scores) >= 3 else DEFAULT_SCORE


def _around(ground: Ground, pieces: Sequence[Piece], attempts: dict[int, Attempt]) -> dict[int, Attempt]:
    """The attempts at those pieces, laid anew where all the speech around the piece, or the talk beside it, bears them
    out better."""
    again = [
        (pieces[at], _second_look(ground, pieces[at], _room(ground, pieces, at)), at)
        for at, attempt in attempts.items()
        if attempt.doubt > CLEAR_COST
    ]
    wider = {at: _with_talk_beside(ground, pieces, at) for at in attempts}
    for at, piece in wider.items():
        if piece is not pieces[at]:
            room = tuple(s.clipped(piece.span) for s in ground.speech(piece.span))
            again.append((piece, _second_look(ground, piece, room), at))
    answers = ground.ask([candidate for _, mine, _ in again for candidate in mine])
    found = dict(attempts)
    for piece, mine, at in again:
        other = _best(ground, piece, mine, answers)
        talk_left = 0.0 if piece is pieces[at] or found[at].full else TALK_BESIDE_COST
        if other.doubt < found[at].doubt + talk_left and (piece is pieces[at] or other.full):
            found[at] = other
    return found


def up_to_the_next(attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, each without its last words where the same line is laid better on them from its first word on: what
    the recogniser gave the first of two was said in the second."""
    found: list[Attempt] = []
    for attempt, following in zip_longest(attempts, attempts[1:]):
        words = attempt.words
        if following and following.full and following.line == attempt.line and following.score > attempt.score:
            words = tuple(word for word in words if word.span.end_ms <= following.span.start_ms)
        whole = len(words) in (0, len(attempt.words))
        found.append(attempt if whole else replace(attempt, full=False, upto=len(words), words=words))
    return found


def _with_talk_beside(ground: Ground, pieces: Sequence[Piece], at: int) -> Piece:
    """The piece with the talk that runs into it or out of it without a pause: it may be the line, misheard."""
    piece = pieces[at]
    assert piece.line is not None
    if _heard_to_both_ends(ground, piece):
        return piece
    before = next((other for other in reversed(pieces[:at]) if other.words), None)
    after = _talk_on([other for other in pieces[at + 1 :] if other.words])
    beside = [other for other in (before, after) if other and other.line is None and _may_be_of(ground, piece, other)]
    if not beside:
        return piece
    words = tuple(sorted({*piece.words, *(w for other in beside for w in other.words)}, key=lambda w: w.span))
    return replace(piece, span=words[0].span.hull(words[-1].span), words=words, fits=())


def _talk_on(following: Sequence[Piece]) -> Piece | None:
    """The first of the pieces; if it is talk, with the talk that goes on after a comma's pause."""
    if not following:
        return None
    row = [following[0]]
    for piece in following[1:]:
        if row[-1].line is not None or piece.line is not None or row[-1].span.gap_to_ms(piece.span) >= COMMA_MS:
            break
        row.append(piece)
    words = tuple(word for piece in row for word in piece.words)
    return replace(row[0], span=row[0].span.hull(row[-1].span), words=words) if len(row) > 1 else row[0]


def _may_be_of(ground: Ground, piece: Piece, talk: Piece) -> bool:
    """Whether the talk runs on without a pause, or is about what the line lacks at its end, after a comma's pause."""
    assert piece.line is not None
    gap_ms = talk.span.gap_to_ms(piece.span)
    if gap_ms < RUNS_ON_MS or talk.span < piece.span:
        return gap_ms < RUNS_ON_MS
    heard_to = piece.last_word + 1
    lacking_ms = ground.syllable_ms * sum(ground.syllables[piece.line][heard_to:])
    speech_ms = ground.speech_ms(talk.span.padded(EDGE_MS, EDGE_MS))
    return bool(lacking_ms) and gap_ms < COMMA_MS and 0.5 < speech_ms / lacking_ms < 2.0


def _heard_to_both_ends(ground: Ground, piece: Piece) -> bool:
    assert piece.line is not None
    last = len(ground.spoken_words[piece.line]) - 1
    well = {fit.word for fit in piece.fits if fit.likeness >= WELL}
    return 0 in well and last in well


def _whole(ground: Ground, piece: Piece, touched: Sequence[Span]) -> Candidate:
    """The whole line, in all the speech that the piece's words touch."""
    assert piece.line is not None
    return ground.whole(piece.line, touched[0].hull(touched[-1]))


def _is_clear(ground: Ground, piece: Piece, attempt: Attempt) -> bool:
    """Whether nothing speaks against the attempt: then no part of its speech has to be looked at by itself."""
    well = attempt.laid and attempt.doubt <= NO_DOUBT and attempt.score >= ground.usual_score - LITTLE_LOWER
    words = piece.words
    ends = [] if len(words) < 2 else [(words[0], words[:2]), (words[-1], words[-2:])]
    # An unsure word that a pause parts from the rest may be something else.
    return well and not any(word.probability < SURE_WORD and ground.apart(*pair) for word, pair in ends)


def _first_look(ground: Ground, piece: Piece, touched: Sequence[Span]) -> list[Candidate]:
    assert piece.line is not None
    length = len(ground.spoken_words[piece.line])
    expected_ms = ground.expected_ms(piece.line, length)
    looks = [Candidate(piece.line, length, stretch) for stretch in stretches(touched, expected_ms)]
    looks += misread_too(ground, looks, piece.words)
    if piece.last_word + 1 < length:
        whole = touched[0].hull(touched[-1])
        looks += [Candidate(piece.line, piece.last_word + 1, whole)]
    return looks


def _second_look(ground: Ground, piece: Piece, room: Sequence[Span]) -> list[Candidate]:
    assert piece.line is not None
    length = len(ground.spoken_words[piece.line])
    begun = () if _ended(ground, piece) else range(max(1, piece.last_word), min(length, piece.last_word + 3))
    uptos = {length, *begun}
    looks = [
        Candidate(piece.line, upto, stretch)
        for upto in sorted(uptos, reverse=True)
        for stretch in stretches(room, ground.expected_ms(piece.line, length))
        if 0.5 < stretch.length_ms / ground.expected_ms(piece.line, upto) < 2.2
    ]
    return [*looks, *misread_too(ground, looks, piece.words)]


def _ended(ground: Ground, piece: Piece) -> bool:
    """Whether the line's last word was surely heard as the last: then it was not broken off, whatever was misread."""
    assert piece.line is not None
    spoken = ground.spoken_words[piece.line]
    last = piece.words[-1]
    return piece.last_word + 1 == len(spoken) and said([last])[-1:] == spoken[-1:] and last.probability >= SURE_END


def _limits(ground: Ground, pieces: Sequence[Piece], at: int) -> Span:
    """Up to the piece's worded neighbours on both sides."""
    piece = pieces[at]
    before = next((_core(ground, pieces[b]).end_ms for b in range(at - 1, -1, -1) if pieces[b].words), 0)
    worded = (pieces[after] for after in range(at + 1, len(pieces)) if pieces[after].words)
    after = next((_core(ground, piece).start_ms for piece in worded), ground.hearing.duration_ms)
    return Span(min(before, piece.span.start_ms), max(after, piece.span.end_ms))


def _core(ground: Ground, piece: Piece) -> Span:
    """The piece without a first or last word that a pause parts from the rest: recognisers smear across pauses."""
    words = piece.words
    if len(words) < 3:
        return piece.span
    first = 1 if ground.apart(words[0], words[1]) else 0
    last = -2 if ground.apart(words[-2], words[-1]) else -1
    return words[first].span.hull(words[last].span)


def _touched(ground: Ground, pieces: Sequence[Piece], at: int) -> tuple[Span, ...]:
    """The speech that the piece's words touch."""
    piece, limits = pieces[at], _limits(ground, pieces, at)
    touched = [s.clipped(limits) for s in ground.speech(piece.span) if s.clipped(limits).length_ms >= 60]
    return tuple(s for s in touched if s.overlap_ms(piece.span) >= 40) or (piece.span,)


def _room(ground: Ground, pieces: Sequence[Piece], at: int) -> tuple[Span, ...]:
    """All the speech around the piece that it may fill."""
    near = _limits(ground, pieces, at).clipped(pieces[at].span.padded(2500, 1500))
    room = [s.clipped(near) for s in ground.speech(near)]
    return tuple(s for s in room if s.length_ms >= 60) or (pieces[at].span,)


def _best(ground: Ground, piece: Piece, looks: Sequence[Candidate], answers: dict[Candidate, Alignment]) -> Attempt:
    assert piece.line is not None
    best: tuple[float, float, Candidate, Alignment] | None = None
    for candidate in looks:
        alignment = answers[candidate]
        heard = [word for word in piece.words if _is_inside(word, candidate.stretch)]
        lost = said([word for word in piece.words if word not in heard])
        cost = doubt(ground, candidate, alignment, candidate.stretch, heard, ()) + (0.0 if heard else 3.0)
        cost += RESTART_GAIN if lost and _restarts(ground, candidate, alignment, lost) else LOST_WORD_COST * len(lost)
        rank = cost - clearness(ground, alignment.mean_score)
        if best is None or rank < best[0] - 1e-9:
            best = (rank, cost, candidate, alignment)
    if best is None:
        return _as_heard(ground, piece, TALK_COST)
    _, cost, candidate, alignment = best
    if not alignment.words:
        return _as_heard(ground, piece, cost)
    return laid(ground, candidate, alignment, piece, cost)


def _is_inside(word: HeardWord, stretch: Span) -> bool:
    """Even where the recogniser gave it no time of its own."""
    return bool(word.span.overlap_ms(stretch)) or stretch.contains(word.span.start_ms)


def _restarts(ground: Ground, candidate: Candidate, alignment: Alignment, lost: Sequence[str]) -> bool:
    """Whether the line stands in the stretch from its first word on, and what was heard outside is only its beginning,
    or the line once more.

    A recogniser gives words said twice in a row but once; which of the two is complete, the sound tells.
    """
    words = ground.spoken_words[candidate.line]
    if alignment.worst_score < POOR_WORD_SCORE:
        return False
    clear = alignment.mean_score >= ground.usual_score - SCORE_SLACK
    return clear and max(wording.row_likeness(lost, begun) for begun in (words[: len(lost)], words)) >= 0.6


def laid(ground: Ground, candidate: Candidate, alignment: Alignment, piece: Piece | None, doubt: float) -> Attempt:
    by_word = _heard_by_word(piece) if piece else {}
    spans: Sequence[Span] = [word.span for word in alignment.words]
    if candidate.misread:
        spans = candidate.misread.as_script(spans)
    texts = ground.spoken_words[candidate.line][: candidate.upto]
    words = tuple(
        ReadWord(text, span, by_word.get(at)) for at, (text, span) in enumerate(zip(texts, spans, strict=True))
    )
    full = candidate.upto == len(ground.spoken_words[candidate.line])
    heard = piece.words if piece else ()
    return Attempt(candidate.line, full, candidate.upto, words, heard, doubt, laid=True, score=alignment.mean_score)


def laid_anyway(
    ground: Ground, candidate: Candidate, alignment: Alignment, heard: Sequence[HeardWord], doubt: float
) -> Attempt:
    """The attempt, in which that was heard; where the aligner found no path its words share the time of the stretch."""
    if alignment.words:
        return replace(laid(ground, candidate, alignment, None, doubt), heard=tuple(heard))
    words = evenly(ground.words_of(candidate), candidate.stretch)
    return Attempt(candidate.line, ground.is_full(candidate), candidate.upto, words, tuple(heard), doubt, laid=False)


def _heard_by_word(piece: Piece) -> dict[int, str]:
    spellings = said(piece.words)
    return {
        fit.word: spellings[fit.token - piece.first_token]
        for fit in piece.fits
        if 0 <= fit.token - piece.first_token < len(spellings)
    }


def _as_heard(ground: Ground, piece: Piece, doubt: float) -> Attempt:
    """The recogniser's own times, where the aligner found no path."""
    assert piece.line is not None
    length = len(ground.spoken_words[piece.line])
    speech_ms = ground.speech_ms(piece.span)
    if speech_ms < LEAST_TIME * ground.expected_ms(piece.line, piece.last_word + 1):
        doubt = math.inf  # text without the time to say it
    full = piece.last_word + 1 >= length - 1 or speech_ms > 0.8 * ground.expected_ms(piece.line, length)
    upto = length if full else piece.last_word + 1
    texts = ground.spoken_words[piece.line][:upto]
    words = evenly(texts, piece.span, _heard_by_word(piece))
    return Attempt(piece.line, full, upto, words, piece.words, doubt, laid=False)
