"""Sounds that are not script: coughs, knocks, doors, pages, laughter, and sounds held for demonstration."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.signal import butter, lfilter, sosfilt

from tests.evaluation.signals import RATE, Samples, at_level, count, faded

STRAY_KINDS = ("cough", "knock", "door", "page", "laughter")
_ABOVE_ROOM_DB = 12.0
"""What drowns in the room is no event that anybody could report."""
Rng = np.random.Generator


def _band(noise: Samples, low_hz: float, high_hz: float) -> Samples:
    return np.asarray(sosfilt(butter(2, [low_hz, high_hz], "band", fs=RATE, output="sos"), noise), dtype=np.float64)


def _rung(excitation: Samples, resonances: tuple[tuple[float, float], ...]) -> Samples:
    """The excitation through resonances in parallel, each a centre and a bandwidth in Hz."""
    out = np.zeros(len(excitation))
    for centre_hz, width_hz in resonances:
        radius = np.exp(-np.pi * width_hz / RATE)
        out += lfilter([1 - radius], [1, -2 * radius * np.cos(2 * np.pi * centre_hz / RATE), radius**2], excitation)
    return out


def _pulses(length: int, pitch_hz: Samples | float, rng: Rng) -> Samples:
    """A glottal buzz: softened pulses at a pitch with a little jitter."""
    pitch = np.broadcast_to(np.asarray(pitch_hz, dtype=np.float64), (length,))
    wander = 1 + 0.01 * np.cumsum(rng.standard_normal(length)) / np.sqrt(length)
    phase = np.cumsum(pitch * wander) / RATE
    hits = (np.diff(np.floor(phase), prepend=0) > 0).astype(np.float64)
    return np.asarray(lfilter([1.0], [1.0, -0.94], hits), dtype=np.float64)


def cough(rng: Rng) -> Samples:
    bursts = []
    for _ in range(int(rng.integers(1, 4))):
        length = count(rng.uniform(0.16, 0.32))
        at = np.arange(length) / RATE
        shape = np.minimum(at / 0.008, 1) * np.exp(-at * rng.uniform(9, 16))
        body = _rung(rng.standard_normal(length), ((650, 250), (1350, 400), (2700, 800)))
        voice = _rung(_pulses(length, rng.uniform(110, 220), rng), ((600, 200), (1200, 300)))
        bursts += [(body / body.std() + 0.6 * voice / voice.std()) * shape, np.zeros(count(rng.uniform(0.04, 0.16)))]
    return np.concatenate(bursts[:-1])


def knock(rng: Rng) -> Samples:
    centre_hz = rng.uniform(140, 320)
    knocks = []
    for _ in range(int(rng.integers(1, 4))):
        length = count(0.14)
        hit = np.zeros(length)
        hit[: count(0.002)] = rng.standard_normal(count(0.002))
        ring = _rung(hit, ((centre_hz, 30), (centre_hz * 2.3, 70), (centre_hz * 4.1, 160)))
        knocks += [ring, np.zeros(count(rng.uniform(0.05, 0.14)))]
    return np.concatenate(knocks[:-1])


def door(rng: Rng) -> Samples:
    length = count(rng.uniform(0.4, 0.7))
    at = np.arange(length) / RATE
    thud = _band(rng.standard_normal(length), 50, 240) * np.exp(-at * 11)
    latch = _band(rng.standard_normal(length), 1800, 5000) * np.exp(-np.abs(at - rng.uniform(0.05, 0.12)) * 120)
    return np.asarray(thud / thud.std() + 0.5 * latch / latch.std(), dtype=np.float64)


def page(rng: Rng) -> Samples:
    length = count(rng.uniform(0.35, 0.8))
    rustle = _band(rng.standard_normal(length), 1500, 8000)
    grains = np.abs(lfilter([0.004], [1, -0.996], rng.standard_normal(length) * (rng.random(length) < 0.004) * 200))
    swell = np.sin(np.linspace(0, np.pi, length)) ** 0.7
    return np.asarray(rustle * (0.3 + grains / grains.max()) * swell, dtype=np.float64)


def laughter(rng: Rng) -> Samples:
    pitch_hz = rng.uniform(140, 300)
    pieces = []
    for step in range(int(rng.integers(4, 8))):
        length = count(rng.uniform(0.09, 0.14))
        fall = pitch_hz * (1 - 0.05 * step) * np.linspace(1.08, 0.92, length)
        vowel = _rung(_pulses(length, fall, rng), ((720, 90), (1250, 110), (2600, 180)))
        breath = _band(rng.standard_normal(length), 500, 4000)
        shape = np.sin(np.linspace(0, np.pi, length)) * 0.86**step
        puff = _band(rng.standard_normal(count(0.07)), 500, 4000)
        pieces += [(vowel / vowel.std() + 0.25 * breath / breath.std()) * shape, 0.12 * puff / puff.std() * 0.86**step]
    return np.concatenate(pieces[:-1])


def breath(seconds: float, dbfs: float, rng: Rng) -> Samples:
    """Air drawn in through an open mouth: it swells, and stops sooner than it came."""
    length = count(seconds)
    air = _rung(rng.standard_normal(length), ((rng.uniform(700, 1100), 600), (1800, 800), (3300, 1400)))
    blown = _band(rng.standard_normal(length), 600, 6500)
    at = np.linspace(0, 1, length)
    swell = np.sin(np.pi * at ** rng.uniform(1.0, 1.8)) ** 1.2
    return at_level((air / air.std() + 0.5 * blown / blown.std()) * swell, dbfs)


def _held(name: str, length: int, rng: Rng) -> Samples:
    pitch_hz = rng.uniform(105, 210)
    voice = _pulses(length, pitch_hz, rng)
    hiss = rng.standard_normal(length)
    resonances: dict[str, tuple[tuple[float, float], ...]] = {
        "v": ((260, 80), (1100, 300)),
        "w": ((300, 70), (650, 90)),
        "l": ((350, 60), (1200, 120), (2600, 200)),
        "r": ((400, 70), (1150, 100), (1600, 120)),
        "n": ((260, 60), (1400, 200), (2300, 250)),
        "ng": ((260, 60), (1050, 200), (2000, 250)),
        "m": ((250, 60), (1000, 200), (2100, 250)),
        "ee": ((290, 60), (2250, 110), (2950, 160)),
        "i": ((420, 70), (1950, 110), (2550, 160)),
        "dh": ((280, 80), (1400, 300)),
        "z": ((270, 80), (1500, 300)),
        "zh": ((270, 80), (1600, 300)),
        "aw": ((570, 80), (850, 90), (2450, 150)),
        "oh": ((470, 70), (820, 90), (2350, 150)),
        "oo": ((300, 60), (870, 90), (2250, 150)),
        "u": ((440, 70), (1020, 100), (2250, 150)),
        "a": ((690, 90), (1700, 120), (2400, 160)),
        "e": ((540, 80), (1850, 110), (2500, 160)),
    }  # formants of an adult voice, common phonetic knowledge, from memory
    noisy = {
        "s": (4200, 9500, 1.0),
        "sh": (1900, 6500, 1.0),
        "th": (1800, 9000, 1.0),
        "f": (1500, 9500, 1.0),
        "v": (1500, 8000, 0.25),
        "dh": (1600, 8000, 0.2),
        "z": (4200, 9500, 0.4),
        "zh": (1900, 6500, 0.4),
    }
    if not (name in resonances or name in noisy):
        raise ValueError(f"nobody knows how to hold {name!r}")
    out = np.zeros(length)
    if name in resonances:
        sung = _rung(voice, resonances[name])
        out += sung / sung.std()
    if name in noisy:
        low_hz, high_hz, share = noisy[name]
        blown = _band(hiss, low_hz, high_hz)
        out += share * blown / blown.std()
    return out


def held(name: str, rng: Rng) -> Samples:
    """A sound held for 0.9 to 2.2 s, as a teacher shows it, at a level a little below speech.

    Raises ValueError for the name of a sound that it cannot make.
    """
    sound = _held(name, count(rng.uniform(0.9, 2.2)), rng)
    return at_level(faded(sound, 0.06, 0.12), rng.uniform(-30, -24))


_MAKERS: dict[str, Callable[[Rng], Samples]] = {
    "cough": cough,
    "knock": knock,
    "door": door,
    "page": page,
    "laughter": laughter,
}


def stray(kind: str, rng: Rng, room_dbfs: float | None = None) -> Samples:
    """One of ``STRAY_KINDS`` at a plausible level beside speech at -23 dBFS, and well above the room's own tone."""
    low, high = {"page": (-42, -34)}.get(kind, (-33, -23))
    level = float(rng.uniform(low, high))
    if room_dbfs is not None:
        level = max(level, room_dbfs + _ABOVE_ROOM_DB)
    return at_level(faded(_MAKERS[kind](rng), 0.002, 0.02), level)
