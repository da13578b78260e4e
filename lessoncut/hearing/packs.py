"""Stretches of speech packed tightly for a recogniser that always hears 30 seconds. Pure.

A pack is a row of pieces of the take, each a stretch of speech with real room tone around it, joined without the
pauses between. The pack's own time starts at 0 and maps back to the take piece by piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from lessoncut.take.levels import Levels, quietest_ms
from lessoncut.take.samples import PER_MS, Samples, cut
from lessoncut.times import Span, merged

FULL_MS = 18_000
"""Fuller packs loop and lose lines more often, emptier ones cost more."""
CONTEXT_MS = 300
"""Room tone heard on either side of speech."""
MOST_SPEECH_MS = 25_000
"""A longer stretch without a pause is split where it is quietest."""
_SPLIT_MARGIN_MS = 8_000
_FADE = 10 * PER_MS


@dataclass(frozen=True)
class Pack:
    """``pieces`` are spans of the take, in order and apart; their lengths add up to the pack's."""

    pieces: tuple[Span, ...]

    @property
    def key(self) -> str:
        """A name for exactly this sound of this take."""
        return " ".join(f"{piece.start_ms}-{piece.end_ms}" for piece in self.pieces)

    @property
    def end_ms(self) -> int:
        """Where its last piece ends in the take."""
        return self.pieces[-1].end_ms

    @property
    def length_ms(self) -> int:
        return sum(piece.length_ms for piece in self.pieces)

    def sound(self, samples: Samples) -> NDArray[np.float32]:
        """Shape (samples,), -1 to 1; every joint is faded over 10 ms."""
        return np.concatenate([_faded(cut(samples, piece)) for piece in self.pieces])

    def take_span(self, packed: Span) -> Span:
        """A span of pack time as take time: inside the piece that holds most of it, cut at that piece's ends."""
        begins = (0, *accumulate(piece.length_ms for piece in self.pieces))
        own = [Span(*edges) for edges in pairwise(begins)]
        most = max(range(len(own)), key=lambda at: (packed.overlap_ms(own[at]), -packed.gap_to_ms(own[at])))
        shift_ms = self.pieces[most].start_ms - begins[most]
        return packed.padded(-shift_ms, shift_ms).clipped(self.pieces[most])


def _faded(samples: Samples) -> NDArray[np.float32]:
    sound = samples.astype(np.float32) / np.float32(32768)
    length = min(_FADE, len(sound) // 2)
    ramp = np.linspace(0, 1, length, endpoint=False, dtype=np.float32)
    sound[:length] *= ramp
    sound[len(sound) - length :] *= ramp[::-1]
    return sound


def filled(pieces: Sequence[Span], full_ms: int = FULL_MS) -> tuple[Pack, ...]:
    """The pieces in packs of at most ``full_ms``, longer only where one piece is."""
    packs: list[list[Span]] = []
    filled_ms = 0
    for piece in pieces:
        if not packs or filled_ms + piece.length_ms > full_ms:
            packs.append([])
            filled_ms = 0
        packs[-1].append(piece)
        filled_ms += piece.length_ms
    return tuple(Pack(merged(pieces)) for pieces in packs)


def pieces_of(speech: Sequence[Span], levels: Levels) -> tuple[Span, ...]:
    """Each stretch of speech with its context: ``CONTEXT_MS``, or half the pause where that is shorter."""
    if not speech:
        return ()
    if not speech:
        return ()
    middles = [(a.end_ms + b.start_ms) // 2 for a, b in pairwise(speech)]
    limits = pairwise([0, *middles, levels.duration_ms])
    padded = [s.padded(CONTEXT_MS, CONTEXT_MS).clipped(Span(*limit)) for s, limit in zip(speech, limits, strict=True)]
    return tuple(part for piece in padded for part in split(piece, levels))


def split(piece: Span, levels: Levels) -> tuple[Span, ...]:
    """The piece, or parts of at most ``MOST_SPEECH_MS`` cut where it is quietest and well away from its ends."""
    if piece.length_ms <= MOST_SPEECH_MS:
        return (piece,)
    at_ms = quietest_ms(levels, piece.padded(-_SPLIT_MARGIN_MS, -_SPLIT_MARGIN_MS))
    return split(Span(piece.start_ms, at_ms), levels) + split(Span(at_ms, piece.end_ms), levels)
