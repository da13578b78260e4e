"""The practice pack: every line of the passage as a sound file of its own, and a table of them, in one ZIP file.

It is cut from the finished lesson, so that its sound is the lesson's: the model reading, the same with the learner's
gap after it, and on wish a slow version at the same pitch.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import ZipFile

from lessoncut import ffmpeg, files, render
from lessoncut.errors import ToolError
from lessoncut.outputs.base import NotPossible, Recording, Written, footage_of
from lessoncut.outputs.handout import phonetic
from lessoncut.outputs.left_out import no_signs, of_rules
from lessoncut.outputs.lesson_sound import whole_tape
from lessoncut.outputs.practice import SLOW
from lessoncut.outputs.programme import Programme, Said
from lessoncut.outputs.written import BYTE_ORDER_MARK, cell, one_line
from lessoncut.progress import Progress, no_progress, part, shares
from lessoncut.render.room import Needs, clips_needs, tape_needs
from lessoncut.times import Span

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench

BEFORE_MS, AFTER_MS = 60, 90
"""Sound left around a line, where no other line stands."""
TABLE = "lines.csv"
_COLUMNS = ("number", "line", "text", "phonetic", "model", "model_and_gap", "slow", "gap_s")
_FADE_S = 0.01


@dataclass(frozen=True)
class PackLine:
    """One line of the pack: what is cut where (lesson time), and what its files are called."""

    number: int
    line_id: str
    text: str
    phonetic: str
    span: Span
    gap_ms: int
    model: str
    with_gap: str
    slow: str | None


def pack_lines(programme: Programme, *, slow: bool = False) -> tuple[PackLine, ...]:
    """The lines in the order of the model reading. Raises NotPossible where the lesson has none."""
    models = [said for said in programme.said if said.mark.pass_kind == "model" and not said.mark.partial]
    if programme.clock != "lesson" or not models:
        raise NotPossible("there is no model reading to practise with", hint="mark the passage in the script")
    digits = max(2, len(str(len(models))))
    return tuple(
        _line(number, said, programme, f"{number:0{digits}d}", slow) for number, said in enumerate(models, start=1)
    )


def _line(number: int, said: Said, programme: Programme, name: str, slow: bool) -> PackLine:
    rule = programme.study.rule(said.mark.line_id or "") if programme.study else None
    return PackLine(
        number=number,
        line_id=said.mark.line_id or "",
        text=one_line(said.text),
        phonetic=(phonetic(rule) or "") if rule and said.mark.parts == 1 else "",
        span=_room(said, programme),
        gap_ms=_gap_ms(said, programme),
        model=f"{name}_model.mp3",
        with_gap=f"{name}_model_and_gap.mp3",
        slow=f"{name}_slow.mp3" if slow else None,
    )


def _room(said: Said, programme: Programme) -> Span:
    """The line with a little air, never into the line before or after."""
    before = max((one.span.end_ms for one in programme.said if one.span.end_ms <= said.span.start_ms), default=0)
    after = min(
        (one.span.start_ms for one in programme.said if one.span.start_ms >= said.span.end_ms),
        default=programme.duration_ms,
    )
    return Span(max(before, said.span.start_ms - BEFORE_MS), min(after, said.span.end_ms + AFTER_MS))


def _gap_ms(said: Said, programme: Programme) -> int:
    """The gap the lesson has after this line in a repeat pass, or after it here."""
    repeats = [
        one.mark.gap.lesson_span.length_ms
        for one in programme.said
        if one.mark.line_id == said.mark.line_id and one.mark.gap.kind == "repeat"
    ]
    return max(repeats, default=said.mark.gap.lesson_span.length_ms)


def practice_pack(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    """The pack as one ZIP file. Raises NotPossible, TakeError, ToolError, LessonFolderError."""
    footage = footage_of(programme)
    lines = pack_lines(programme, slow=programme.choices.slow)
    lesson, folder = bench.folder / "practice.flac", bench.folder / "practice"
    remarks = render.write_tape(footage, whole_tape(programme), bench, lesson, part(progress, 0.0, 0.4))
    folder.mkdir(exist_ok=True)
    written = cut_lines(lines, programme.title, lesson, folder, part(progress, 0.4, 1.0))
    lesson.unlink()
    with files.in_the_making(path) as unfinished, ZipFile(unfinished, "w") as pack:
        for sound in written:
            pack.write(sound, sound.name)
            sound.unlink()
        pack.writestr(TABLE, table_of(lines))
    return Written((path,), remarks)


def left_out(programme: Programme) -> tuple[str, ...]:
    rules = {rule.line_id: rule for rule in programme.study.rules} if programme.study else {}
    lines = [
        line.number for line in pack_lines(programme) if line.line_id in rules and not phonetic(rules[line.line_id])
    ]
    return of_rules(programme) or no_signs(lines)


def practice_pack_needs(programme: Programme) -> Needs:
    """What the pack takes on the disk. Raises NotPossible."""
    lines = pack_lines(programme, slow=programme.choices.slow)
    whole = tape_needs(footage_of(programme), whole_tape(programme), lossless=True)
    lengths_ms = [2 * line.span.length_ms + line.gap_ms for line in lines]
    lengths_ms += [round(line.span.length_ms / SLOW) for line in lines if line.slow]
    return clips_needs(lengths_ms, whole)


def cut_lines(
    lines: Sequence[PackLine], title: str, lesson: Path, folder: Path, progress: Progress = no_progress
) -> tuple[Path, ...]:
    """Cut the lines' files out of the lesson's sound into ``folder``, in their order. Raises ToolError."""
    written: list[Path] = []
    for line, step in zip(lines, shares(progress, [1] * len(lines)), strict=True):
        tags = (f"title={line.number}. {line.text}", f"album={one_line(title)}", f"track={line.number}/{len(lines)}")
        jobs = [(line.model, 0, 1.0), (line.with_gap, line.gap_ms, 1.0)]
        jobs += [(line.slow, 0, SLOW)] if line.slow else []
        for name, gap_ms, tempo in jobs:
            _sound(lesson, line.span, folder / name, gap_ms, tempo, tags)
            written.append(folder / name)
        step(1.0)
    return tuple(written)


def table_of(lines: tuple[PackLine, ...]) -> str:
    """CSV by RFC 4180, one row a line; file names are relative to the table."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\r\n")
    writer.writerow(_COLUMNS)
    for line in lines:
        writer.writerow(
            [line.number, cell(line.line_id), cell(line.text), cell(line.phonetic), line.model, line.with_gap,
             line.slow or "", f"{line.gap_ms / 1000:.3f}"]
        )  # fmt: skip
    return BYTE_ORDER_MARK + table.getvalue()


def _sound(lesson: Path, span: Span, to: Path, gap_ms: int, tempo: float, tags: Sequence[str]) -> None:
    length_s = span.length_ms / 1000
    sound = ffmpeg.source(lesson, ss=f"{span.start_ms / 1000:.3f}", t=f"{length_s:.3f}")["a:0"]
    sound = sound.filter("asetpts", "PTS-STARTPTS").filter("atrim", end=length_s)
    sound = sound.filter("afade", type="in", duration=_FADE_S)
    sound = sound.filter("afade", type="out", start_time=max(0.0, length_s - _FADE_S), duration=_FADE_S)
    if tempo != 1.0:
        sound = sound.filter("rubberband", tempo=tempo) if _has_rubberband() else sound.filter("atempo", tempo)
    if gap_ms:
        sound = sound.filter("apad", pad_dur=gap_ms / 1000)
    own = {f"metadata:g:{number}": tag for number, tag in enumerate(tags)}
    coder = {"map_metadata": -1, "map_chapters": -1, "c:a": "libmp3lame", "q:a": 3}
    ffmpeg.run(ffmpeg.target(sound, to=to, format="mp3", **coder, **own))


@cache
def _has_rubberband() -> bool:
    """Whether this ffmpeg can stretch by Rubber Band; atempo, which every one has, is a little rougher."""
    trial = ffmpeg.generated("sine=duration=0.1").filter("rubberband", tempo=SLOW)
    try:
        return any(ffmpeg.read(ffmpeg.target(trial, format="s16le")))
    except ToolError:
        return False


OUTPUT = Recording(
    name="practice-pack",
    says="every line as a sound file of its own, alone and with its gap, and a table for flash cards",
    suffix=".zip",
    make=practice_pack,
    needs=practice_pack_needs,
    of_study=True,
    left_out=left_out,
)
