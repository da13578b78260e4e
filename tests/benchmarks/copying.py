"""What the copied picture costs, against one full re-encode of the same cut list.

    python -m tests.benchmarks.copying [--minutes 10] [--spans 60] [--group 60] [--noise 10]

Makes a 1080p30 H.264 take with a texture that costs what a camera's does, cuts it into spans with a gap after every
second one, and prints CPU seconds (this process and its children), frames, and how alike the encoded frames are.
"""

from __future__ import annotations

import argparse
import os
import random
import tempfile
from collections.abc import Callable
from pathlib import Path

from lessoncut.ffmpeg import run
from lessoncut.render.encoding import encode, whole_look
from lessoncut.render.packets.checking import check_joins
from lessoncut.render.packets.copying import Copy, copy, planned
from lessoncut.render.packets.joining import join_files
from lessoncut.render.shots import shots_of, strips_of
from lessoncut.take.probe import probe
from lessoncut.timeline.grid import grid_rate
from tests.render.sounding import timeline
from tests.take.making import ffmpeg

SEGMENT_S = 20
GAP_S = 3
SPEECH_SHARE = 0.4
"""So much of the take is played."""


def made_take(folder: Path, minutes: float, group: int, noise: int, codec: str = "libx264") -> Path:
    segment, take = folder / "segment.mp4", folder / "take.mp4"
    picture = f"testsrc2=s=1920x1080:r=30:d={SEGMENT_S},noise=alls={noise}:allf=t+u"
    ffmpeg(
        "-f", "lavfi", "-i", picture, "-c:v", codec, "-preset", "veryfast", "-crf", "20", "-g", str(group),
        "-bf", "2", "-pix_fmt", "yuv420p", segment,
    )  # fmt: skip
    times = round(minutes * 60 / SEGMENT_S)
    sound = f"anoisesrc=d={times * SEGMENT_S}:a=0.1:r=48000"
    ffmpeg(
        "-stream_loop", str(times - 1), "-i", segment, "-f", "lavfi", "-i", sound, "-map", "0:v", "-map", "1:a",
        "-c:v", "copy", "-c:a", "aac", take,
    )  # fmt: skip
    return take


def cut_list(minutes: float, spans: int, seed: int = 4) -> list[tuple[int, ...]]:
    """Spans of unlike length all over the take, every second one followed by a gap."""
    draw = random.Random(seed)
    room = int(minutes * 60 * 30 / spans)
    edits: list[tuple[int, ...]] = []
    for number in range(spans):
        length = round(room * SPEECH_SHARE * draw.uniform(0.6, 1.4))
        start = number * room + draw.randrange(room - length)
        if number % 2:
            edits.append((0, start - 1, GAP_S * 30, 0))
        edits.append((0, start, start + length))
    return edits


def cpu_s(work: Callable[[], object]) -> float:
    before = os.times()
    work()
    after = os.times()
    return sum(after[:4]) - sum(before[:4])


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=10)
    options.add_argument("--spans", type=int, default=60)
    options.add_argument("--group", type=int, default=60)
    options.add_argument("--noise", type=int, default=10, help="the texture: 0 is a drawing, 10 a camera in a dim room")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room)
        take = probe([made_take(folder, asked.minutes, asked.group, asked.noise)])
        lesson = timeline(grid_rate(take), *cut_list(asked.minutes, asked.spans))
        strips = strips_of(lesson)
        alone = ["-i", Path(take.files[0].path), "-map", "0:v", "-c", "copy", folder / "alone.mov"]
        alone_s = cpu_s(lambda: run(alone))
        plan_s = cpu_s(lambda: planned(take.files, strips, lesson.rate))
        plan = planned(take.files, strips, lesson.rate)
        done: list[Copy] = []
        copy_s = cpu_s(lambda: done.append(copy(take.files, plan, lesson.rate, folder / "copied.mov")))
        check_s = cpu_s(lambda: check_joins(folder / "copied.mov", take.files, plan, done[0]))
        shots = shots_of(strips)

        def full() -> None:
            files = encode(take, lesson.rate, shots, folder, whole_look(take))
            join_files(files, [shot.frames for shot in shots], lesson.rate, folder / "encoded.mov")

        full_s = cpu_s(full)
        sizes = [(folder / name).stat().st_size / 1e6 for name in ("copied.mov", "encoded.mov")]
    print(f"{asked.minutes:g} min of 1080p30, {asked.spans} spans, groups of {asked.group}: {lesson.frames} frames")
    print(f"copied {plan.copied}, encoded {plan.frames - plan.copied}")
    print(f"CPU s: look into {plan_s:.1f}, copy {copy_s:.1f}, check {check_s:.1f}; full re-encode {full_s:.1f}")
    print(f"CPU s: ffmpeg copying the uncut take {alone_s:.1f}")
    print(f"ratio {(plan_s + copy_s + check_s) / full_s:.3f} (bar 0.25); MB: {sizes[0]:.0f} against {sizes[1]:.0f}")


if __name__ == "__main__":
    main()
