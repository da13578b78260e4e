"""How much of the disk an export takes, said before it begins: estimates, rather too much than too little."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lessoncut.render.records import Footage, Tape
from lessoncut.render.samples import RATE_HZ, samples_at

_BITS_A_PIXEL = 0.2
"""What a visually lossless picture needs at most, about."""
_MOST_CHANNELS = 2
_FLOAT_BYTES = 4
_CODED_BYTES_A_S = 30_000
"""240 kbit/s: more than any of the coders is asked for."""
_LOSSLESS_BYTES = 3
"""A sample in a file without loss."""


@dataclass(frozen=True)
class Needs:
    """Bytes of a finished file, and of what lies beside it only while it is made."""

    finished: int
    beside: int


def whole_export(footage: Footage, needs: Iterable[Needs]) -> int:
    """The most bytes that lie on the disk at one time when these are made one after the other.

    The take's decoded sound goes before the first is made, the lesson's stays to the end.
    """
    made = list(needs)
    decoded, lesson = sound_bytes(footage)
    files = sum(one.finished for one in made) + max((one.beside for one in made), default=0)
    return lesson + max(decoded, files)


def sound_bytes(footage: Footage) -> tuple[int, int]:
    """The take's decoded sound, and the lesson's."""
    used = [footage.take.files[number] for number in footage.files_used]
    decoded = sum(samples_at(file.duration_ms) * 2 * file.sound.channels for file in used)
    return decoded, samples_at(footage.timeline.duration_ms) * _FLOAT_BYTES * _MOST_CHANNELS


def film_needs(footage: Footage) -> Needs:
    """A picture of the take's own bit rate or of an encoder's, whichever is more; a second one while it is made."""
    picture, files = footage.take.picture, [footage.take.files[number] for number in footage.files_used]
    per_ms = sum(file.size_bytes for file in files) / max(1, sum(file.duration_ms for file in files))
    pixels = picture.width * picture.height if picture else 0
    encoded = pixels * footage.timeline.frames * _BITS_A_PIXEL / 8
    shown = round(max(encoded, per_ms * footage.timeline.duration_ms))
    sound = _coded(footage.timeline.duration_ms)
    return Needs(shown + sound, shown + sound)


def tape_needs(footage: Footage, tape: Tape, *, lossless: bool = False) -> Needs:
    """The excerpt, and at another speed a second one, lie beside the finished file."""
    frames = sum(end - first for first, end in tape.frames)
    samples = samples_at(footage.timeline.rate.start_ms(frames))
    stretched = round(samples / tape.tempo)
    beside = (samples + (stretched if tape.tempo != 1 else 0)) * _FLOAT_BYTES * _MOST_CHANNELS
    if lossless:
        return Needs(stretched * _LOSSLESS_BYTES * _MOST_CHANNELS, beside)
    return Needs(_coded(stretched * 1000 // RATE_HZ), beside)


def clips_needs(lengths_ms: Iterable[int], source: Needs) -> Needs:
    """Sound files cut out of a finished one, packed into one file: they lie there twice."""
    clips = sum(map(_coded, lengths_ms))
    return Needs(clips, source.finished + max(source.beside, clips))


def _coded(length_ms: int) -> int:
    return length_ms * _CODED_BYTES_A_S // 1000
