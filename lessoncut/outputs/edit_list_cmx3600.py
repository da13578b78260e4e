"""The cut list as a CMX 3600 edit decision list, for finishing in a video editor.

One event a stretch of the take, picture and sound together. Where a gap is, the list has none: the record time goes
on. At 29.97 and 59.94 frames a second the timecode is drop frame. (SMPTE 258M; its layout as the OpenTimelineIO
adapter reads and writes it.)
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from lessoncut.outputs.base import NotPossible, Parts, Programme, footage_of
from lessoncut.outputs.written import one_line
from lessoncut.render.shots import Played, strips_of
from lessoncut.take.records import Take, TakeFile
from lessoncut.timeline.timecode import drops, frame_of, timecode
from lessoncut.times import FrameRate

MOST_EVENTS = 999
_LONGEST_REEL = 8
_RESERVED_REELS = ("AX", "BL", "BLACK", "BARS")
_MOST_COUNTED = 60
"""More frames a second have no timecode of two digits."""


@dataclass(frozen=True)
class Event:
    """Source frames ``[source_in, source_out)`` of a file at record frame ``record_in``; ``notes`` are comments."""

    file: int
    source_in: int
    source_out: int
    record_in: int
    notes: tuple[str, ...]

    @property
    def record_out(self) -> int:
        return self.record_in + self.source_out - self.source_in


@dataclass(frozen=True)
class Labelling:
    """The frame number that each file's first frame is labelled with, and whether labels are dropped."""

    first_frames: tuple[int, ...]
    drop_frame: bool


def labelling(take: Take, rate: FrameRate) -> Labelling:
    """The cameras' own timecode where the files have it, else from 0; drop frame, where it is defined, unless a camera
    counts without."""
    labels = [file.picture.timecode if file.picture and lies_on_grid(file, rate) else None for file in take.files]
    firsts: list[int] = []
    drop_frame = drops(rate)
    for label in labels:
        try:
            firsts.append(frame_of(label, rate) if label else 0)
            drop_frame = drop_frame and not (label and ";" not in label)
        except ValueError:
            firsts.append(0)
    return Labelling(tuple(firsts), drop_frame)


def lies_on_grid(file: TakeFile, rate: FrameRate) -> bool:
    """Whether the file's own frames are those that are counted."""
    return file.picture is not None and file.picture.steady and file.picture.rate == rate


def edit_list_cmx3600(programme: Programme) -> tuple[str, ...]:
    """Lists of at most 999 events each; their record times go on from one to the next. Raises NotPossible."""
    footage = footage_of(programme)
    if footage.take.picture is None or footage.timeline.rate.per_second > _MOST_COUNTED:
        raise NotPossible(
            "only a lesson with a picture has timecode", hint="lessoncut export DIR --only edit-list-otio"
        )
    found = events(programme)
    parts = [found[at : at + MOST_EVENTS] for at in range(0, max(1, len(found)), MOST_EVENTS)]
    reels = reels_of(footage.take)
    track = "AA/V" if any(file.sound.channels > 1 for file in footage.take.files) else "B"
    title = ascii_line(programme.title)
    names = [title] if len(parts) == 1 else [f"{title} ({n} of {len(parts)})" for n in range(1, len(parts) + 1)]
    return tuple(
        _list(name, part, reels, track, footage.take, programme.rate) for name, part in zip(names, parts, strict=True)
    )


def events(programme: Programme) -> tuple[Event, ...]:
    """Every stretch of the take that is played, in the order of the lesson."""
    found = []
    at = 0
    for strip in strips_of(footage_of(programme).timeline):
        if isinstance(strip, Played):
            lines = tuple(_lines(programme, at, at + strip.frames))
            found.append(Event(strip.file, strip.first, strip.last, at, lines))
        at += strip.frames
    return tuple(found)


def _lines(programme: Programme, first: int, end: int) -> Iterator[str]:
    for said in programme.said:
        if not first <= said.mark.lesson_in < end:
            continue
        if said.mark.line_id:
            yield f"LINE {said.mark.line_id}: {said.text}"
        elif said.text:  # a sound that is held has no words
            yield f"TALK: {said.text}"


def _list(title: str, part: Sequence[Event], reels: Sequence[str], track: str, take: Take, rate: FrameRate) -> str:
    labels = labelling(take, rate)
    rows = [f"TITLE: {title}", f"FCM: {'DROP FRAME' if labels.drop_frame else 'NON-DROP FRAME'}", ""]
    for number, event in enumerate(part, start=1):
        name = Path(take.files[event.file].path).name
        rows.append(event_row(number, reels[event.file], track, event, rate, labels))
        rows.append(f"* FROM CLIP NAME:  {ascii_line(name)}")
        if not lies_on_grid(take.files[event.file], rate):
            rows.append(f"* NOTE: BRING IT TO {float(rate.per_second):.6g} STEADY FRAMES A SECOND FIRST")
        rows += [f"* {ascii_line(note)}" for note in event.notes]
    return "\r\n".join(rows) + "\r\n"


def event_row(number: int, reel: str, track: str, event: Event, rate: FrameRate, labels: Labelling) -> str:
    """One cut. Out points are the first frame that is not played."""
    first = labels.first_frames[event.file]
    frames = (first + event.source_in, first + event.source_out, event.record_in, event.record_out)
    times = " ".join(timecode(frame, rate, drop_frame=labels.drop_frame) for frame in frames)
    return f"{number:03d}  {reel:8} {track:5} C        {times}"


def reels_of(take: Take) -> list[str]:
    """A name of at most eight letters and digits for every file, the same for the same file and unlike all others."""
    known: dict[str, str] = {}
    for file in take.files:
        if file.path in known:
            continue
        plain = re.sub(r"[^A-Za-z0-9]", "", ascii_line(Path(file.path).stem)) or "TAKE"
        name, number = plain[:_LONGEST_REEL], 1
        while name.upper() in {other.upper() for other in known.values()} or name.upper() in _RESERVED_REELS:
            number += 1
            name = f"{plain[: _LONGEST_REEL - len(str(number))]}{number}"
        known[file.path] = name
    return [known[file.path] for file in take.files]


def ascii_line(text: str) -> str:
    """The text in the letters that the format knows: without accents, ``?`` for what has no such letter."""
    curly = str.maketrans({"\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2013": "-", "\u2014": "-"})
    bare = unicodedata.normalize("NFKD", one_line(text).translate(curly))
    return "".join(char for char in bare if not unicodedata.combining(char)).encode("ascii", "replace").decode()


OUTPUT = Parts(
    name="edit-list-cmx3600",
    says="the cut list for a video editor, as CMX 3600",
    suffix=".edl",
    make=edit_list_cmx3600,
)
