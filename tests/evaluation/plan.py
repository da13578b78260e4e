"""What happens in a lesson, as a list of items in order: the drawing is in ``draw``, the sound in ``assemble``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tests.evaluation.casts import Voice
from tests.evaluation.texts import Family, Line

Role = Literal["reading", "talk", "whisper", "learner"]
PassKind = Literal["model", "repeat"]
Codec = Literal["wav", "m4a", "mp3", "opus"]


@dataclass(frozen=True)
class ScriptLine:
    id: str
    section: str
    in_passage: bool
    line: Line


@dataclass(frozen=True)
class Said:
    """Speech. ``line`` is an index into the plan's lines for readings and for a learner, else None.

    ``only_words`` breaks the reading off after so many words. ``passage_pass`` is an index into the plan's passes.
    """

    role: Role
    text: str
    voice: Voice
    rate: float
    seed: int
    gain_db: float
    line: int | None = None
    passage_pass: int | None = None
    only_words: int | None = None
    misread: bool = False


@dataclass(frozen=True)
class Noise:
    """A stray sound, or a sound held for demonstration."""

    kind: str
    seed: int
    held: bool = False


@dataclass(frozen=True)
class Rest:
    seconds: float


@dataclass(frozen=True)
class Breath:
    """Drawn in before she speaks, so loud."""

    seconds: float
    dbfs: float
    seed: int


Item = Said | Noise | Rest | Breath


@dataclass(frozen=True)
class Room:
    """How the take sounds. Levels in dBFS RMS; None switches an effect off.

    ``direct_db`` is the direct sound's level over the reverberation's. ``overload_db`` drives the take so far
    over full scale before it is clipped.
    """

    tone_dbfs: float | None
    hum_dbfs: float | None
    hum_hz: int
    reverb_s: float | None
    direct_db: float
    overload_db: float | None
    codec: Codec
    rate_hz: int
    seed: int


@dataclass(frozen=True)
class Plan:
    id: str
    family: Family
    seed: int
    title: str
    lines: tuple[ScriptLine, ...]
    passes: tuple[PassKind, ...]
    items: tuple[Item, ...]
    room: Room
    clean: bool
    markdown: str
