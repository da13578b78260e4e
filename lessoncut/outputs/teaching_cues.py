"""Captions that teach: the words of every cue with the letters that are stressed or hold a target sound.

The cues are those of the clean captions. In a learner's gap the line stays on screen under a short call to speak.
Capitals are never used for stress: in captions they mean shouting (DCMP Captioning Key).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.base import NotPossible
from lessoncut.outputs.caption_breaks import MOST_CHARACTERS
from lessoncut.outputs.captions import GAP_FRAMES, SHORTEST_S
from lessoncut.outputs.choices import YOUR_TURN
from lessoncut.outputs.handout import stressed_letters
from lessoncut.outputs.programme import Programme, Said
from lessoncut.outputs.written import one_line
from lessoncut.script.records import Line
from lessoncut.teaching.records import Study
from lessoncut.times import Span

_SHORTEST_MS = int(1000 * SHORTEST_S) + 1


@dataclass(frozen=True)
class Letters:
    """Letters of one word that look alike: ``stress`` 0 to 2, ``sound`` the number of a target sound or 0."""

    text: str
    stress: int = 0
    sound: int = 0


@dataclass(frozen=True)
class TaughtWord:
    span: Span
    letters: tuple[Letters, ...]


@dataclass(frozen=True)
class TaughtCue:
    """``call`` is the call to speak in a gap, else None; then the words' spans have passed."""

    span: Span
    rows: tuple[tuple[TaughtWord, ...], ...]
    call: str | None = None


def taught_cues(programme: Programme) -> tuple[TaughtCue, ...]:
    """The cues in order. Raises NotPossible where nothing was studied."""
    study = programme.study
    if study is None:
        raise NotPossible("nothing was studied that captions could teach", hint="use the clean captions")
    words = {word.span: taught for said in programme.said for word, taught in _words(said, study)}
    track = programme.captions
    cues = [
        TaughtCue(
            track.span(cue),
            tuple(tuple(words.get(word.span) or _plain(word) for word in line) for line in cue.lines),
        )
        for cue in track.cues
    ]
    cues += _gap_cues(programme, cues, words, one_line(programme.choices.your_turn) or YOUR_TURN)
    return tuple(sorted(cues, key=lambda cue: cue.span))


def _plain(word: LessonWord) -> TaughtWord:
    return TaughtWord(word.span, (Letters(one_line(word.text)),))


def _words(said: Said, study: Study) -> Iterator[tuple[LessonWord, TaughtWord]]:
    line = study.line(said.mark.line_id)
    stress, sounds = _looks(line, study) if line else ({}, {})
    for word, start in placed_words(said, line):
        if line is None or start is None:
            yield word, _plain(word)
            continue
        characters = range(start, start + len(word.text))
        runs = groupby(characters, key=lambda char: (stress.get(char, 0), sounds.get(char, 0)))
        letters = tuple(Letters("".join(line.text[char] for char in run), level, sound) for (level, sound), run in runs)
        yield word, TaughtWord(word.span, letters)


def placed_words(said: Said, line: Line | None) -> Iterator[tuple[LessonWord, int | None]]:
    """The words as shown, and at which character of the line each begins; None for a word the line does not have."""
    at = 0
    if line and said.words and said.mark.part > 1:
        at = max(0, line.text.rfind(said.text))
    for word in said.words:
        start = line.text.find(word.text, at) if line else -1
        if start < 0:
            yield word, None
        else:
            yield word, start
            at = start + len(word.text)


def _looks(line: Line, study: Study) -> tuple[dict[int, int], dict[int, int]]:
    """Stress and target sound of the line's characters."""
    rule = study.rule(line.id)
    sounds = {
        char: study.targets.sounds.index(place.sound) + 1
        for place in study.targets.places
        if place.line_id == line.id
        for char in range(place.start, place.end)
    }
    return (stressed_letters(line, rule) if rule else {}), sounds


def _gap_cues(
    programme: Programme, cues: Sequence[TaughtCue], words: dict[Span, TaughtWord], call: str
) -> list[TaughtCue]:
    """One cue a learner's gap, between the caption before it and the one after; none where it could not be read."""
    if programme.clock != "lesson":
        return []
    rate = programme.rate
    found = []
    for said in programme.said:
        gap = said.mark.gap
        if gap.kind != "repeat":
            continue
        span = gap.lesson_span
        start_ms = max([span.start_ms, *(cue.span.end_ms for cue in cues if cue.span.start_ms < span.end_ms)])
        after = min((cue.span.start_ms for cue in cues if cue.span.start_ms >= span.end_ms), default=span.end_ms)
        end = min(rate.frame_at(span.end_ms), rate.nearest_frame(after) - GAP_FRAMES)
        first = rate.first_frame_from(start_ms) + GAP_FRAMES
        if rate.start_ms(end) - rate.start_ms(first) >= _SHORTEST_MS:
            rows = _rows([words.get(word.span) or _plain(word) for word in said.words])
            found.append(TaughtCue(Span(rate.start_ms(first), rate.start_ms(end)), rows, call))
    return found


def _rows(words: Sequence[TaughtWord]) -> tuple[tuple[TaughtWord, ...], ...]:
    """Rows of at most 42 characters, as few as hold the words and about equally long."""
    lengths = [sum(len(letters.text) for letters in word.letters) for word in words]
    total = sum(lengths) + len(words) - 1
    wanted = total / -(-total // MOST_CHARACTERS) if total > 0 else MOST_CHARACTERS
    rows: list[list[TaughtWord]] = [[]]
    used = 0
    for word, length in zip(words, lengths, strict=True):
        if rows[-1] and (used + length + 1 > MOST_CHARACTERS or used + length / 2 > wanted):
            rows.append([])
            used = 0
        rows[-1].append(word)
        used += length + 1
    return tuple(tuple(row) for row in rows)
