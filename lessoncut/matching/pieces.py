"""The take as a row of pieces: attempts at a line, talk outside the script, and speech without words.

Pieces are rough: their times are the recogniser's. ``settle`` lays the lines' own words on the sound afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut import wording
from lessoncut.hearing.records import HeardWord, Hearing
from lessoncut.matching.follow import PAUSE_MS, Fit, Run, Token, follow
from lessoncut.script.records import Script
from lessoncut.times import Span, SpanIndex, without

VOICED_ENOUGH = 0.35
"""A heard word with less speech than this behind it is not believed."""
FITTING = 0.6
"""Likeness from which a heard word is taken for the script's."""
UNHEARD_MS = 150
"""Speech without words shorter than this is a recogniser's ragged edge."""
WORD_REACH_MS = 120
"""How far beyond a heard word its speech may still reach."""


@dataclass(frozen=True)
class Piece:
    """``line`` is an index into the script's lines, None for talk and for speech without words.

    ``first_word`` and ``last_word`` are the outermost words of the line that fit, -1 where none does.
    """

    line: int | None
    span: Span
    words: tuple[HeardWord, ...]
    fits: tuple[Fit, ...]
    """``Fit.token`` is an index into the take's tokens."""
    first_token: int
    first_word: int = -1
    last_word: int = -1
    fitting: int = 0


def believed(hearing: Hearing) -> tuple[HeardWord, ...]:
    """The heard words with speech behind them."""
    return tuple(word for word in hearing.words if word.voiced >= VOICED_ENOUGH)


def tokens_of(words: Sequence[HeardWord], speech: Sequence[Span]) -> tuple[Token, ...]:
    """The spoken words inside the heard words, and the silence before each."""
    spoken_in = SpanIndex(speech)
    tokens: list[Token] = []
    previous_end_ms = 0
    for index, word in enumerate(words):
        between = Span(min(previous_end_ms, word.span.start_ms), word.span.start_ms)
        pause_ms = sum(piece.length_ms for piece in without(between, spoken_in.meeting(between)))
        for place, spoken in enumerate(wording.spoken(word.text)):
            tokens.append(Token(spoken, index, pause_ms if place == 0 else 0))
        previous_end_ms = max(previous_end_ms, word.span.end_ms)
    return tuple(tokens)


def pieces_of(script: Script, hearing: Hearing) -> tuple[Piece, ...]:
    """Every stretch of speech in the take as one piece, in time order."""
    words = believed(hearing)
    tokens = tokens_of(words, hearing.speech)
    spoken = tuple(line.spoken for line in script.lines)
    runs = [part for run in follow(script, tokens) for part in _at_pauses(run, tokens)]
    told = [_piece(run, tokens, words, spoken) for run in runs]
    return tuple(sorted([*told, *_unheard(hearing, words)], key=lambda piece: piece.span))


def _piece(run: Run, tokens: Sequence[Token], words: Sequence[HeardWord], spoken: Sequence[Sequence[str]]) -> Piece:
    heard = words[tokens[run.first].heard : tokens[run.last].heard + 1]
    span = Span(heard[0].span.start_ms, max(word.span.end_ms for word in heard))
    good = [fit for fit in run.fits if fit.likeness >= FITTING]
    if run.line is None or not _believable(len(good), len(heard), len(spoken[run.line])):
        return Piece(None, span, tuple(heard), (), run.first)
    return Piece(
        run.line, span, tuple(heard), run.fits, run.first, good[0].word, good[-1].word, len({fit.word for fit in good})
    )


def _believable(fitting: int, heard: int, length: int) -> bool:
    """A few stray words in common do not make an attempt at a line."""
    return fitting >= 1 and fitting >= 0.4 * min(heard, length)


def _at_pauses(run: Run, tokens: Sequence[Token]) -> list[Run]:
    """Talk in pieces, one between each two pauses: what one piece turns out to be says nothing of the next."""
    if run.line is not None:
        return [run]
    starts = [at for at in range(run.first, run.last + 1) if at == run.first or tokens[at].pause_before_ms >= PAUSE_MS]
    ends = [*(start - 1 for start in starts[1:]), run.last]
    return [Run(None, first, last, ()) for first, last in zip(starts, ends, strict=True)]


def _unheard(hearing: Hearing, words: Sequence[HeardWord]) -> list[Piece]:
    """Speech that no heard word accounts for."""
    covered = [word.span.padded(WORD_REACH_MS, WORD_REACH_MS) for word in words]
    left: list[Piece] = []
    at = 0
    for span in hearing.speech:
        while at < len(covered) and covered[at].end_ms <= span.start_ms:
            at += 1
        over = at
        holes = []
        while over < len(covered) and covered[over].start_ms < span.end_ms:
            holes.append(covered[over])
            over += 1
        left += [Piece(None, part, (), (), -1) for part in without(span, holes) if part.length_ms >= UNHEARD_MS]
    return left
