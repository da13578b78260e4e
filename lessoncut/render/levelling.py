"""Brings a programme to its loudness: one gain for all of it, and a limiter where a peak would be too high.

One gain keeps the model reading and the repeat pass alike. Where the limiter has to act, what it takes is measured and
made up for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from lessoncut.progress import Progress, no_progress, part
from lessoncut.render.gating import ABSOLUTE_GATE_LUFS, RELATIVE_GATE_LU
from lessoncut.render.limiter import MARGIN, limited
from lessoncut.render.loudness import Loudness, Meter
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.targets import CODED_CEILING_DBTP, HIGHEST_DBTP

CLOSE_ENOUGH_LU = 0.1

# When the teacher is told; common practice, no source.
LOUD_GAIN_DB = 20.0
NOISY_LU = 30.0
MUCH_LIMITING_DB = 6.0

_BLOCK = RATE_HZ
_ROUNDS = 3


@dataclass(frozen=True)
class Levelling:
    """What is done to a programme. ``gain_db`` 0 and no ceiling: nothing."""

    gain_db: float = 0.0
    ceiling_dbtp: float | None = None


@dataclass(frozen=True)
class Levelled:
    """A programme, what it measured before and after, and what was done to it.

    ``limited_db`` is the most that the limiter takes off; ``target_lufs`` None leaves the loudness alone.
    """

    sound: Chunk
    levelling: Levelling
    before: Loudness
    after: Loudness
    target_lufs: float | None
    limited_db: float

    def blocks(self) -> Iterator[Chunk]:
        """The programme as it is to be heard."""
        for block, _ in blocks(self.sound, self.levelling):
            yield block

    def louder(self, by_db: float) -> Levelled:
        """With more gain and a ceiling that much higher: the same but louder."""
        assert self.levelling.ceiling_dbtp is not None
        gain_db, ceiling_dbtp = self.levelling.gain_db + by_db, self.levelling.ceiling_dbtp + by_db
        return replace(self, levelling=Levelling(gain_db, ceiling_dbtp))

    def lower(self, by_db: float) -> Levelled:
        """With a ceiling that much lower."""
        assert self.levelling.ceiling_dbtp is not None
        lowered = replace(self.levelling, ceiling_dbtp=self.levelling.ceiling_dbtp - by_db)
        return replace(self, levelling=lowered)


def levelled(sound: Chunk, target_lufs: float | None, progress: Progress = no_progress) -> Levelled:
    """Measure the programme and find what brings it to the target; ``sound`` may lie on the disk.

    No gain is too much: what the meter's absolute gate leaves out altogether stays as it is.
    """
    before = _measured(sound, Levelling(), part(progress, 0.0, 0.4))[0]
    if target_lufs is None or math.isinf(before.integrated_lufs):
        return Levelled(sound, Levelling(), before, before, target_lufs, 0.0)
    levelling = Levelling(target_lufs - before.integrated_lufs, CODED_CEILING_DBTP)
    gated_alike = before.integrated_lufs + RELATIVE_GATE_LU >= ABSOLUTE_GATE_LUFS
    if gated_alike and before.true_peak_dbtp + levelling.gain_db <= CODED_CEILING_DBTP:
        return Levelled(sound, levelling, before, _louder(before, levelling.gain_db), target_lufs, 0.0)
    # A limiter takes loudness away, and of a very quiet take more passes the absolute gate once it is louder.
    for round_ in range(_ROUNDS):
        step = part(progress, 0.4 + 0.2 * round_, 0.6 + 0.2 * round_)
        after, lowest_gain = _measured(sound, levelling, step)
        missing_lu = target_lufs - after.integrated_lufs
        if abs(missing_lu) <= CLOSE_ENOUGH_LU or round_ == _ROUNDS - 1:
            break
        levelling = replace(levelling, gain_db=levelling.gain_db + missing_lu)
    return Levelled(sound, levelling, before, after, target_lufs, -20 * math.log10(lowest_gain))


def blocks(sound: Chunk, levelling: Levelling) -> Iterator[tuple[Chunk, float]]:
    """The programme block by block after gain and limiter, and the limiter's lowest gain in each."""
    gain = 10 ** (levelling.gain_db / 20)
    for start in range(0, len(sound), _BLOCK):
        end = min(start + _BLOCK, len(sound))
        if levelling.ceiling_dbtp is None:
            yield sound[start:end] * gain, 1.0
            continue
        before, after = min(MARGIN, start), min(MARGIN, len(sound) - end)
        ceiling = 10 ** (levelling.ceiling_dbtp / 20)
        done = limited(sound[start - before : end + after] * gain, before, after, ceiling)
        yield done.sound, done.lowest_gain


def remarks(done: Levelled, tone_lufs: float) -> tuple[str, ...]:
    """What the teacher should know, in sentences with figures; ``tone_lufs`` is how loud the take's room tone is."""
    says = []
    before, gain_db = done.before, done.levelling.gain_db
    if gain_db >= LOUD_GAIN_DB:
        says.append(
            f"The take is quiet ({before.integrated_lufs:.1f} LUFS): it was raised by {gain_db:.1f} dB, and its room "
            f"tone with it, to {tone_lufs + gain_db:.0f} LUFS. Record closer to the microphone or with more gain."
        )
    distance_lu = before.integrated_lufs - tone_lufs
    if distance_lu < NOISY_LU:
        says.append(
            f"The take is noisy: its room tone ({tone_lufs:.0f} LUFS) lies only {max(0.0, distance_lu):.0f} LU under "
            f"the programme ({before.integrated_lufs:.1f} LUFS); {NOISY_LU:.0f} LU or more are comfortable."
        )
    if done.limited_db >= MUCH_LIMITING_DB:
        says.append(
            f"The loudest peaks had to be turned down by up to {done.limited_db:.1f} dB; if it is a knock or a cough, "
            "cover it or cut it out."
        )
    if done.target_lufs is not None and abs(done.after.integrated_lufs - done.target_lufs) > 0.5:
        says.append(
            f"The loudness is {done.after.integrated_lufs:.1f} LUFS; the {done.target_lufs:g} LUFS wanted cannot be "
            "reached."
        )
    if done.target_lufs is None and before.true_peak_dbtp > HIGHEST_DBTP:
        says.append(f"The true peak is {before.true_peak_dbtp:.1f} dBTP; over {HIGHEST_DBTP:g} players may distort.")
    return tuple(says)


def _measured(sound: Chunk, levelling: Levelling, progress: Progress) -> tuple[Loudness, float]:
    meter, lowest, seen = Meter(), 1.0, 0
    for block, gain in blocks(sound, levelling):
        meter.add(block)
        lowest = min(lowest, gain)
        seen += len(block)
        progress(seen / len(sound))
    return meter.result(), lowest


def _louder(measured: Loudness, gain_db: float) -> Loudness:
    return Loudness(
        measured.integrated_lufs + gain_db,
        measured.most_momentary_lufs + gain_db,
        measured.most_short_term_lufs + gain_db,
        measured.true_peak_dbtp + gain_db,
    )
