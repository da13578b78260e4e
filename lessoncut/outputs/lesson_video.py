"""The finished lesson as a video: chapters and captions are inside."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut import files, render
from lessoncut.outputs.base import NotPossible, Programme, Recording, Written, footage_of
from lessoncut.outputs.captions_prompt_ass import captions_prompt_ass
from lessoncut.outputs.captions_srt import captions_srt
from lessoncut.outputs.chapters_ffmetadata import chapters_ffmetadata
from lessoncut.outputs.languages import three_letters
from lessoncut.progress import Progress
from lessoncut.render.records import Footage, Papers
from lessoncut.render.room import Needs, film_needs

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


def lesson_video(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    """MP4 with the picture as H.264, the sound as AAC and the captions as text that can be switched on."""
    footage = _footage(programme)
    papers = Papers(
        metadata=chapters_ffmetadata(programme),
        captions=captions_srt(programme),
        language=three_letters(programme.language),
        prompt=captions_prompt_ass(programme) if footage.wishes.prompt else None,
    )
    with files.in_the_making(path) as unfinished:
        remarks = render.write_film(footage, papers, bench, unfinished, progress)
    return Written((path,), remarks)


def lesson_video_needs(programme: Programme) -> Needs:
    return film_needs(_footage(programme))


def _footage(programme: Programme) -> Footage:
    footage = footage_of(programme)
    if footage.take.picture is None:
        raise NotPossible("the take has no picture", hint="lessoncut export DIR --only lesson-sound")
    return footage


OUTPUT = Recording(
    name="lesson-video",
    says="the finished lesson, with chapters and captions inside",
    suffix=".mp4",
    make=lesson_video,
    needs=lesson_video_needs,
)
