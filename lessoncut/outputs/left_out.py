"""What an output lacks though it could be asked of it, and why: sentences for the teacher, never for learners."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.outputs.handout import sheet
from lessoncut.outputs.programme import Programme

_NAMED = 6


def of_rules(programme: Programme) -> tuple[str, ...]:
    """Of what shows stress or sounds."""
    study = programme.study
    return (study.unruled,) if study and study.unruled else ()


def of_times(programme: Programme) -> tuple[str, ...]:
    """Of what says when single sounds are heard."""
    return programme.study.left_out if programme.study else ()


def of_sheet(programme: Programme) -> tuple[str, ...]:
    """Of a handout on a page."""
    told = of_plain_sheet(programme)
    if not programme.choices.melody:
        return told
    return (*told, *no_melodies([line.number for line in sheet(programme).lines if line.melody is None]))


def of_plain_sheet(programme: Programme) -> tuple[str, ...]:
    """Of a handout in plain text, which has no melodies."""
    told = of_rules(programme)
    if told or not programme.choices.ipa:
        return told
    return no_signs([line.number for line in sheet(programme).lines if line.ipa is None])


def no_signs(lines: Sequence[int]) -> tuple[str, ...]:
    """Of lines that should have phonetic signs, by their numbers."""
    return (
        (f"Phonetic signs are missing for {_named(lines)}: a word there cannot be read as English.",) if lines else ()
    )


def no_melodies(lines: Sequence[int]) -> tuple[str, ...]:
    """Of lines that should have a melody, by their numbers."""
    why = "no reading that is kept has all its words and a pitch that can be measured"
    return (f"The melody is missing for {_named(lines)}: {why}.",) if lines else ()


def _named(lines: Sequence[int]) -> str:
    if len(lines) == 1:
        return f"line {lines[0]}"
    *first, last = map(str, lines[:_NAMED])
    rest = len(lines) - _NAMED
    return f"lines {', '.join([*first, last])} and {rest} more" if rest > 0 else f"lines {', '.join(first)} and {last}"
