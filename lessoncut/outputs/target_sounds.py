"""Where every target sound is heard: a table with its word, its place in the word, and its times."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from lessoncut.outputs.base import NotPossible, Output
from lessoncut.outputs.left_out import of_times
from lessoncut.outputs.programme import Programme, Said
from lessoncut.outputs.teaching_cues import placed_words
from lessoncut.outputs.written import BYTE_ORDER_MARK, cell, timestamp
from lessoncut.teaching.records import ReadingStudy, RuleLine, SoundPlace, Study
from lessoncut.teaching.sounds import is_sound, shown
from lessoncut.teaching.syllables import bare
from lessoncut.times import Span

_COLUMNS = ("sound", "word", "position", "line", "pass", "starts", "lasts_ms", "starts_in_take", "from_dictionary")


def target_sounds(programme: Programme) -> str:
    """CSV by RFC 4180. ``starts`` is on the programme's clock. Raises NotPossible where no sounds are named."""
    study = programme.study
    if study and study.unruled:
        raise NotPossible(study.unruled.removesuffix("."))
    if study is None or not study.targets.sounds:
        raise NotPossible("no target sounds are named for this lesson", hint="name them, such as --sounds v/w")
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\r\n")
    writer.writerow(_COLUMNS)
    for said in programme.said:
        writer.writerows(_rows(said, study))
    return BYTE_ORDER_MARK + table.getvalue()


def _rows(said: Said, study: Study) -> Iterator[Sequence[str | int]]:
    mark = said.mark
    line, rule = study.line(mark.line_id), study.rule(mark.line_id or "")
    reading = next((one for one in study.readings if one.reading_id == mark.reading_id), None)
    if line is None or rule is None or reading is None:
        return
    shown_at = {start: word.span for word, start in placed_words(said, line) if start is not None}
    for place, take_span in heard(study.targets.places, rule, reading):
        word_span = reading.word_spans[place.word]
        holder = max((start for start in shown_at if start <= rule.words[place.word].start), default=None)
        if word_span is None or holder is None:
            continue
        offset_ms = take_span.start_ms - word_span.start_ms
        starts_ms = shown_at[holder].start_ms + offset_ms
        if shown_at[holder].end_ms < starts_ms:
            continue  # the word is not in this part of the line
        yield (
            shown(place.sound),
            cell(place.text),
            place.position,
            place.line_id,
            mark.pass_kind or "",
            timestamp(starts_ms),
            take_span.length_ms,
            timestamp(take_span.start_ms),
            "yes" if place.by_dictionary else "no",
        )


def heard(places: Sequence[SoundPlace], rule: RuleLine, reading: ReadingStudy) -> Iterator[tuple[SoundPlace, Span]]:
    """Each place of a target sound in this line with the span of its phone in the reading, where it was spoken so."""
    taken: dict[tuple[int, str], int] = {}
    for place in places:
        if place.line_id != rule.line_id:
            continue
        key = (place.word, place.sound)
        nth = taken.get(key, 0)
        taken[key] = nth + 1
        own = [
            phone.span
            for phone in reading.phones
            if phone.word == place.word and (is_sound(phone.label, place.sound) or phone.label == bare(place.sound))
        ]
        if nth < len(own):
            yield place, own[nth]


OUTPUT = Output(
    name="target-sounds",
    says="when each target sound is heard, word by word, for a spreadsheet",
    suffix=".csv",
    make=target_sounds,
    of_study=True,
    left_out=of_times,
)
