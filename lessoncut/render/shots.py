"""Which frames of the take are seen, one after the other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lessoncut.timeline.records import Edit, TakeEdit, Timeline


@dataclass(frozen=True)
class Played:
    """Frames ``[first, last)`` of one file, counted on the grid like ``TakeEdit``'s."""

    file: int
    first: int
    last: int

    @property
    def frames(self) -> int:
        return self.last - self.first


@dataclass(frozen=True)
class Held:
    """One frame of a file, ``frames`` times."""

    file: int
    frame: int
    frames: int


Strip = Played | Held


@dataclass(frozen=True)
class Shot:
    """A stretch of one file that can be made in one go: its first frame is seen ``before`` more times at its
    beginning, its last one ``after`` more times at its end."""

    file: int
    first: int
    last: int
    before: int = 0
    after: int = 0

    @property
    def frames(self) -> int:
        return self.before + self.last - self.first + self.after


def strips_of(timeline: Timeline) -> tuple[Strip, ...]:
    """The whole lesson; strips that run on from one another are one."""
    return joined(map(_strip, timeline.edits))


def joined(strips: Iterable[Strip]) -> tuple[Strip, ...]:
    """The strips with those that run on from one another made one."""
    out: list[Strip] = []
    for strip in strips:
        both = _as_one(out[-1], strip) if out else None
        if both:
            out[-1] = both
        else:
            out.append(strip)
    return tuple(out)


def _as_one(strip: Strip, following: Strip) -> Strip | None:
    """One strip for both, where the second runs on from the first."""
    if isinstance(strip, Played) and isinstance(following, Played):
        runs_on = (strip.file, strip.last) == (following.file, following.first)
        return replace(strip, last=following.last) if runs_on else None
    if isinstance(strip, Held) and isinstance(following, Held):
        same = (strip.file, strip.frame) == (following.file, following.frame)
        return replace(strip, frames=strip.frames + following.frames) if same else None
    return None


def _strip(edit: Edit) -> Strip:
    if isinstance(edit, TakeEdit):
        return Played(edit.file, edit.source_in, edit.source_out)
    return Held(edit.hold_file, edit.hold_frame, edit.lesson_out - edit.lesson_in)


def shots_of(strips: Sequence[Strip]) -> tuple[Shot, ...]:
    """The strips as shots: a held frame goes with what follows it, else with what comes before, else by itself."""
    shots: list[Shot] = []
    for at, strip in enumerate(strips):
        before = shots[-1] if shots else None
        following = strips[at + 1] if at + 1 < len(strips) else None
        if isinstance(strip, Played):
            if before and isinstance(strips[at - 1], Held) and (led := _led_in(before, strip)):
                shots[-1] = led
            else:
                shots.append(Shot(strip.file, strip.first, strip.last))
            continue
        held = Shot(strip.file, strip.frame, strip.frame + 1, before=strip.frames - 1)
        leads_in = isinstance(following, Played) and _led_in(held, following)
        if not leads_in and before and (before.file, before.last - 1) == (strip.file, strip.frame):
            shots[-1] = replace(before, after=before.after + strip.frames)
        else:
            shots.append(held)
    return tuple(shots)


def _led_in(held: Shot, strip: Played) -> Shot | None:
    """The strip with a held frame before it, where that frame is the one before it or its first."""
    if held.file != strip.file or held.last != held.first + 1 or held.after:
        return None
    if held.last == strip.first:
        return replace(held, last=strip.last)
    if held.first == strip.first:
        return replace(held, last=strip.last, before=held.before + 1)
    return None
