"""What a room, a microphone and a codec do to a clean recording."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import soundfile
from scipy.signal import fftconvolve

from tests.evaluation.plan import Codec, Room
from tests.evaluation.signals import RATE, Samples, count, to_rate

_BITRATES = {"m4a": ("aac", "64k"), "mp3": ("libmp3lame", "56k"), "opus": ("libopus", "32k")}


def draw_room(rng: np.random.Generator, clean: bool) -> Room:
    """Speech stands at -23 dBFS, so a tone of -43 dBFS or less keeps 20 dB between them; loud rooms are rare."""
    studio = rng.random() < (0.5 if clean else 0.2)
    loudest = -44.0 if rng.random() < 0.85 else -40.0
    tone = float(rng.uniform(-70, -62) if studio else rng.uniform(-64, loudest))
    reverb = None if studio or rng.random() < 0.35 else float(rng.uniform(0.15, 0.6))
    hum = float(rng.uniform(-66, -46)) if rng.random() < 0.25 else None
    overload = float(rng.uniform(1, 6)) if rng.random() < 0.12 else None
    codecs: tuple[Codec, ...] = ("wav", "m4a", "mp3", "opus")
    codec = codecs[int(rng.choice(4, p=[0.62, 0.18, 0.12, 0.08]))]
    rate_hz = 48000 if codec == "opus" else int(rng.choice([16000, 22050, 44100, 48000]))
    return Room(
        tone,
        hum,
        int(rng.choice([50, 60])),
        reverb,
        float(rng.uniform(4, 16)),
        overload,
        codec,
        rate_hz,
        int(rng.integers(1_000_000)),
    )


def recorded(clean: Samples, room: Room) -> Samples:
    """The clean mix as the microphone hears it: reverberant, humming, noisy, overloaded. No sample moves in time."""
    rng = np.random.default_rng(room.seed)
    out = clean.copy()
    if room.reverb_s is not None:
        tail = rng.standard_normal(count(room.reverb_s)) * 10 ** (-3 * np.linspace(0, 1, count(room.reverb_s)))
        tail[: count(0.004)] = 0
        tail *= 10 ** (-room.direct_db / 20) / np.sqrt(np.sum(tail**2))
        out += fftconvolve(clean, tail)[: len(clean)]
    if room.tone_dbfs is not None:
        tone = _pink(len(clean), rng)
        out += tone * 10 ** (room.tone_dbfs / 20) / np.sqrt(np.mean(tone**2))
    if room.hum_dbfs is not None:
        at = 2 * np.pi * room.hum_hz * np.arange(len(clean)) / RATE
        hum = np.sin(at) + 0.5 * np.sin(2 * at + 1) + 0.3 * np.sin(3 * at + 2)
        out += hum * 10 ** (room.hum_dbfs / 20) / np.sqrt(np.mean(hum**2))
    peak = float(np.abs(out).max())
    if room.overload_db is not None:
        out = np.clip(out * 10 ** (room.overload_db / 20) / peak, -1, 1) * 0.97
    elif peak > 0.97:
        out *= 0.97 / peak
    return out


def _pink(length: int, rng: np.random.Generator) -> Samples:
    """Noise that falls by 3 dB an octave above 40 Hz, with a slow swell of about 1 dB."""
    padded = 1 << (length - 1).bit_length()
    spectrum = np.fft.rfft(rng.standard_normal(padded))
    spectrum /= np.sqrt(np.maximum(np.fft.rfftfreq(padded, 1 / RATE), 40.0))
    noise = np.fft.irfft(spectrum)[:length]
    knots = rng.normal(1, 0.1, max(2, length // (4 * RATE)))
    swell = np.interp(np.arange(length), np.linspace(0, length, len(knots)), knots)
    return np.asarray(noise * swell, dtype=np.float64)


def write_take(samples: Samples, room: Room, folder: Path) -> Path:
    """The take as a file, through ffmpeg where the codec is lossy."""
    played = np.clip(to_rate(samples, RATE, room.rate_hz), -1, 1)
    if room.codec == "wav":
        path = folder / "take.wav"
        soundfile.write(path, played, room.rate_hz, subtype="PCM_16")
        return path
    path = folder / f"take.{room.codec}"
    name, bitrate = _BITRATES[room.codec]
    with tempfile.TemporaryDirectory() as spare:
        plain = Path(spare) / "plain.wav"
        soundfile.write(plain, played, room.rate_hz, subtype="PCM_16")
        subprocess.run(
            [
                imageio_ffmpeg.get_ffmpeg_exe(),
                "-y",
                "-loglevel",
                "error",
                "-i",
                str(plain),
                "-c:a",
                name,
                "-b:a",
                bitrate,
                "-fflags",
                "+bitexact",
                "-flags:a",
                "+bitexact",
                "-map_metadata",
                "-1",
                str(path),
            ],
            check=True,
        )
    return path
