"""Makes the reader's lesson out of recorded clips: ``python -m sample_media.make_reader``, from the checkout's root.

The clips are fetched by pip (see ``tests.evaluation.real``) and kept in the evaluation's cache.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import imageio_ffmpeg
import soundfile

from sample_media.performing import Performance, write_truth
from tests.evaluation import real
from tests.evaluation.assemble import performed
from tests.evaluation.plan import Plan, Room
from tests.evaluation.room import recorded
from tests.evaluation.signals import RATE, Samples, to_rate
from tests.evaluation.voices import REAL_VOICES

HOME = Path(__file__).parent / "reader"
MODEL, REPEAT = 0, 1
ROOM = Room(
    tone_dbfs=-58.0,
    hum_dbfs=None,
    hum_hz=50,
    reverb_s=None,
    direct_db=13.0,
    overload_db=None,
    codec="m4a",
    rate_hz=16000,
    seed=2,
)
_LAST_CLIP = 4
_REPEAT_RATE = 0.97
"""There is one recording of each line; so that no reading is a copy of another, it is played a little slower here."""


def plan() -> Plan:
    """The script has another word than the reader in its last line; the third line is read twice, then forgotten."""
    lines = real.passage("dev", altered_clip=_LAST_CLIP).lines
    take = Performance(HOME / "script.md", REAL_VOICES["dev"], ("model", "repeat"), seed=3, known=lines)
    first, second, third, fourth, fifth = range(len(take.lines))
    take.rest(1.5)
    for line, rate in ((first, 1.0), (second, 1.0), (third, 1.03), (third, 1.0), (fourth, 1.0), (fifth, 1.0)):
        take.read(line, rate, at_pass=MODEL)
        take.rest(0.8)
    take.rest(2.5)
    take.read(first, _REPEAT_RATE, at_pass=REPEAT)
    take.rest(7.5)
    take.read(second, _REPEAT_RATE, at_pass=REPEAT, only_words=4)
    take.rest(0.9)
    take.read(second, _REPEAT_RATE, at_pass=REPEAT)
    take.rest(1.2)
    take.noise("cough", seed=6)
    take.rest(2.2)
    take.read(fourth, _REPEAT_RATE, at_pass=REPEAT)
    take.rest(6.5)
    take.read(fifth, _REPEAT_RATE, at_pass=REPEAT)
    take.rest(4.0)
    return take.plan(ROOM)


def _write_sound(sound: Samples, to: Path) -> None:
    with tempfile.TemporaryDirectory() as spare:
        plain = Path(spare) / "plain.wav"
        soundfile.write(plain, to_rate(sound, RATE, ROOM.rate_hz), ROOM.rate_hz, subtype="PCM_16")
        subprocess.run(
            [
                imageio_ffmpeg.get_ffmpeg_exe(),
                "-y",
                "-loglevel",
                "error",
                "-i",
                str(plain),
                "-c:a",
                "aac",
                "-b:a",
                "48k",
                "-flags:a",
                "+bitexact",
                "-fflags",
                "+bitexact",
                "-map_metadata",
                "-1",
                "-movflags",
                "+faststart",
                str(to),
            ],
            check=True,
        )


def main() -> int:
    chosen = plan()
    clean, events = performed(chosen)
    take = HOME / "reader.m4a"
    _write_sound(recorded(clean, chosen.room), take)
    write_truth(chosen, events, clean, take)
    print(f"{take.name}: {len(clean) / RATE:.1f} s, {take.stat().st_size / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
