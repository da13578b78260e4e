"""The finished video: picture, sound, chapters and captions in one file."""

from __future__ import annotations

from pathlib import Path

from lessoncut.ffmpeg import run
from lessoncut.progress import Progress, no_progress


def put_together(
    picture: Path,
    sound: Path,
    metadata: Path,
    captions: Path | None,
    language: str,
    to: Path,
    length_ms: int,
    progress: Progress = no_progress,
) -> None:
    """Copy the tracks into one MP4. ``metadata`` is a file in ffmpeg's form, ``captions`` one in SRT; ``language``
    is ISO 639-2. Captions are there to be switched on. Raises ToolError."""
    job: list[str | Path] = ["-i", picture, "-i", sound, "-f", "ffmetadata", "-i", metadata]
    mapped = ["-map", "0:v", "-map", "1:a", "-map_metadata", "2", "-map_chapters", "2", "-c", "copy"]
    mapped += ["-metadata:s:a:0", f"language={language}"]
    if captions:
        job += ["-f", "srt", "-i", captions]
        mapped += ["-map", "3:s", "-c:s", "mov_text", "-metadata:s:s:0", f"language={language}"]
        mapped += ["-disposition:s:0", "0"]
    run([*job, *mapped, "-movflags", "+faststart", "-f", "mp4", to], length_ms=length_ms, progress=progress)
