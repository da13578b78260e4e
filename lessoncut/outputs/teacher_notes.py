"""What the teacher wants to know of her readings: pace, phrasing, what disagrees, and how well the passage drills."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.outputs.base import NotPossible, Output
from lessoncut.outputs.programme import Programme
from lessoncut.outputs.written import one_line
from lessoncut.teaching.records import ReadingStudy, Study
from lessoncut.teaching.sounds import coverage_told, places_told, shown

_KINDS = {"model": "model reading", "repeat": "repeat pass"}


def teacher_notes(programme: Programme) -> str:
    """Plain text in sections; a section with nothing to say is left out. Raises NotPossible without a study."""
    study = programme.study
    if study is None:
        raise NotPossible("this lesson's readings have not been studied")
    sections = [
        ("Pace", list(_pace(study))),
        ("Worth a look", list(_remarks(study))),
        ("Repeat pass beside the model reading", list(_comparisons(study))),
        ("Lines", list(_lines(study))),
        ("Target sounds", list(_coverage(study))),
        ("Left out", list(study.left_out)),
    ]
    title = one_line(programme.title)
    parts = [f"{title}\n{'=' * len(title)}"]
    parts += [f"{name}\n{'-' * len(name)}\n" + "\n".join(rows) for name, rows in sections if rows]
    return "\n\n".join(parts) + "\n"


def _pace(study: Study) -> Iterator[str]:
    for one in study.passes:
        if one.syllables and one.rate:
            yield (
                f"{_KINDS[one.kind]}: {one.rate:.1f} syllables a second, {one.rate_with_pauses:.1f} with the pauses"
                f" inside lines: {one.brief} of under 200 ms, {one.medium} of 200 ms to 1 s, {one.long} longer"
            )
    if study.median_hz is not None:
        yield f"the voice's middle: {study.median_hz:.0f} Hz"


def _remarks(study: Study) -> Iterator[str]:
    kinds = {one.pass_id: _KINDS[one.kind] for one in study.passes}
    for remark in study.remarks:
        where = f", {kinds[remark.pass_id]}" if remark.pass_id in kinds else ""
        yield f"{remark.line_id}{where}: {remark.says} ({'; '.join(remark.evidence)})"


def _comparisons(study: Study) -> Iterator[str]:
    for one in study.comparisons:
        if one.slower >= 1.05 or one.slower <= 0.95:
            pace = f"{one.slower:.2f} times as slow" if one.slower > 1 else f"{1 / one.slower:.2f} times as fast"
            yield f"{one.line_id}: {pace}"


def _lines(study: Study) -> Iterator[str]:
    for line in study.passage:
        reading, rule = study.reading(line.id), study.rule(line.id)
        if reading is None or rule is None:
            continue
        words = [word.text for word in rule.words]
        groups = " / ".join(" ".join(words[a:b]) for a, b in reading.groups)
        yield f"{line.id}  {reading.rate:.1f} syll/s{_tone(reading)}  {groups}"
        linked = ", ".join(f"{words[link.word]}‿{words[link.word + 1]}" for link in reading.links)
        weak = ", ".join(words[word] for word in reading.weak)
        if linked or weak:
            yield "      " + "; ".join(
                says for says in (f"linked: {linked}" if linked else "", f"weak: {weak}" if weak else "") if says
            )


def _tone(reading: ReadingStudy) -> str:
    return {"fall": ", falls", "rise": ", rises", "level": ", level"}.get(reading.tone or "", "")


def _coverage(study: Study) -> Iterator[str]:
    for table in study.targets.coverage:
        yield coverage_told(table)
    for line in study.passage:
        told = ((sound, places_told(study.targets.places, line.id, sound)) for sound in study.targets.sounds)
        here = "; ".join(f"{shown(sound)} {words}" for sound, words in told if words)
        if here:
            yield f"{line.id}  {here}"
    guessed = sorted({place.text for place in study.targets.places if not place.by_dictionary})
    if guessed:
        yield f"not in the dictionary, sounds guessed from the letters: {', '.join(guessed)}"


OUTPUT = Output(
    name="teacher-notes",
    says="pace, stress and melody as read, and how well the passage drills its sounds",
    suffix=".txt",
    make=teacher_notes,
    of_study=True,
)
