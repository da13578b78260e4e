"""The finished video: picture, sound, chapters and captions in one file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lessoncut.ffmpeg import run
from lessoncut.progress import Progress, forward, no_progress, part, shares
from lessoncut.render.bench import Bench
from lessoncut.render.coding import AAC, write_sound
from lessoncut.render.encoding import encode, whole_look
from lessoncut.render.levelling import levelled, remarks
from lessoncut.render.packets.checking import check_joins, check_packets
from lessoncut.render.packets.copying import CannotCopy, copy, planned
from lessoncut.render.packets.joining import join_files
from lessoncut.render.packets.records import Expected
from lessoncut.render.records import Footage, Papers
from lessoncut.render.shots import Strip, shots_of, strips_of
from lessoncut.render.switches import switch_captions_off
from lessoncut.render.targets import target_lufs
from lessoncut.take.preview import PLAYED_PIXELS

_COPIED = "copied.mov"


def write_film(
    footage: Footage, papers: Papers, bench: Bench, to: Path, progress: Progress = no_progress
) -> tuple[str, ...]:
    """Write the lesson as MP4 and return what the teacher should know. The take must have a picture.

    Raises TakeError, ToolError, LessonFolderError.
    """
    hearing, setting, coding, seeing, joining = shares(progress, [15, 10, 10, 60, 5])
    sounding = bench.sounding(footage, hearing)
    done = levelled(sounding.sound, target_lufs(footage.wishes, sounding.channels), setting)
    sound = bench.folder / "sound.m4a"
    done = write_sound(done, sound, AAC, progress=coding)
    picture, expected, says = _picture(footage, papers.prompt, bench.folder, seeing)
    put_together(picture, sound, papers, bench.folder, to, footage.timeline.duration_ms, joining)
    check_packets(to, expected, footage.timeline.rate)
    picture.unlink()
    return (says, *remarks(done, sounding.tone_lufs))


def _picture(footage: Footage, prompt: str | None, folder: Path, progress: Progress) -> tuple[Path, Expected, str]:
    """The picture's track, what it must hold, and how it was made."""
    progress = forward(progress)
    strips = strips_of(footage.timeline)
    why = "the prompt is drawn into it"
    if prompt is None:
        try:
            return _copied(footage, strips, folder, part(progress, 0.0, 0.9))
        except CannotCopy as answer:
            why = str(answer)
            (folder / _COPIED).unlink(missing_ok=True)
    path = folder / "picture.mov"
    expected = _encoded(footage, strips, prompt, folder, path, part(progress, 0.3, 1.0))
    return path, expected, f"The picture was encoded anew, since {why}."


def _copied(footage: Footage, strips: Sequence[Strip], folder: Path, progress: Progress) -> tuple[Path, Expected, str]:
    """Raises CannotCopy, also where the result does not stand the check."""
    planning, copying, checking = shares(progress, [1, 7, 2])
    files, rate, path = footage.take.files, footage.timeline.rate, folder / _COPIED
    plan = planned(files, strips, rate, planning)
    done = copy(files, plan, rate, path, copying)
    check_joins(path, files, plan, done, checking)
    picture = footage.take.picture
    return path, done.expected, copied_says(plan.copied, plan.frames, picture.pixel_format if picture else "")


def copied_says(copied: int, frames: int, pixel_format: str) -> str:
    """What the teacher is told of a copied picture."""
    says = (
        f"The picture was copied: {copied} of {frames} frames are the take's own, untouched; those around the cuts and "
        "in the gaps were encoded anew."
    )
    if pixel_format in PLAYED_PIXELS:
        return says
    return f"{says} It is {pixel_format} as in the take: not every phone or browser plays that."


def _encoded(
    footage: Footage, strips: Sequence[Strip], prompt: str | None, folder: Path, into: Path, progress: Progress
) -> Expected:
    """A picture track with every shot encoded; ``folder`` holds the shots until they are joined."""
    drawn = None
    if prompt is not None:
        drawn = folder / "prompt.ass"
        drawn.write_text(prompt, encoding="utf-8")
    shots, rate = shots_of(strips), footage.timeline.rate
    made = encode(footage.take, rate, shots, folder, whole_look(footage.take), drawn, progress)
    expected = join_files(made, [shot.frames for shot in shots], rate, into)
    for path in made:
        path.unlink()
    return expected


def put_together(
    picture: Path,
    sound: Path,
    papers: Papers,
    folder: Path,
    to: Path,
    length_ms: int,
    progress: Progress = no_progress,
) -> None:
    """Copy the tracks into one MP4. Captions are there to be switched on. Raises ToolError."""
    metadata, captions = folder / "metadata.txt", folder / "captions.srt"
    metadata.write_text(papers.metadata, encoding="utf-8")
    job: list[str | Path] = ["-i", picture, "-i", sound, "-f", "ffmetadata", "-i", metadata]
    mapped = ["-map", "0:v", "-map", "1:a", "-map_metadata", "2", "-map_chapters", "2", "-c", "copy"]
    mapped += ["-metadata:s:a:0", f"language={papers.language}"]
    if papers.captions:
        captions.write_text(papers.captions, encoding="utf-8")
        job += ["-f", "srt", "-i", captions]
        mapped += ["-map", "3:s", "-c:s", "mov_text", "-metadata:s:s:0", f"language={papers.language}"]
    run([*job, *mapped, "-movflags", "+faststart", "-f", "mp4", to], length_ms=length_ms, progress=progress)
    switch_captions_off(to)
