"""A studied lesson for the tests of outputs that teach: twenty lines on two sounds, read twice in buzz."""

from __future__ import annotations

import re
from functools import cache
from itertools import accumulate

import numpy as np

from lessoncut.lesson.records import LessonWord
from lessoncut.matching.records import Match, Pass, PassKind, Reading, ReadWord
from lessoncut.outputs.programme import Part, Programme, Said
from lessoncut.script.records import Line, Mark, MarkKind, Script, Section
from lessoncut.take.measure import measure
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.teaching.study import study
from lessoncut.timeline.records import GapMark, ItemMark
from lessoncut.times import Span
from lessoncut.wording import spoken, syllables, tokens
from tests.outputs.programmes import RATE_25

WORD_MS, SPACE_MS, PAUSE_MS, GAP_MS = 180, 40, 700, 3200
PASSAGE = """
Victor waved from the **west** window of the van.
We live in a very quiet village near the river.
Every winter the wind whistles over the valley.
Vera wore a **velvet vest**, and William wore a woollen one.
Would you like to visit the vineyard on Wednesday?
The waiter poured __a glass of water__, not a glass of wine.
I have never seen so many waves in November.
Why were the vans waiting on the wrong side of the wall?
They drove away, and we walked the rest of the way.
Once a week we wash the windows of the village hall.
The visitors wanted to view the old water wheel.
She gave five voices to the wolves in the story.
Which of the valleys is wider, and which is deeper?
__Wait a moment__, I want to save the last of the vegetables.
We will be back before the seven o'clock news.
The weaver moved her loom to the warmest room.
What a wonderful view you have from this veranda!
If the weather is fine, we will have lunch above the waterfall.
Give me your word that you will never leave it unlocked.
Well, it was very wise of you to ask us over.
"""
_MARKS: dict[str, MarkKind] = {"**": "stress", "__": "phrase"}


def marked_line(number: int, text: str) -> Line:
    """A line of the passage, its marks taken out of the text."""
    plain, marks = "", []
    opened: dict[str, int] = {}
    for part in re.split(r"(\*\*|__)", text):
        if part not in _MARKS:
            plain += part
        elif part in opened:
            marks.append(Mark(_MARKS[part], opened.pop(part), len(plain)))
        else:
            opened[part] = len(plain)
    return Line(f"L{number:03d}", plain, 0, True, tuple(marks))


def lesson_script(text: str = PASSAGE) -> Script:
    lines = tuple(marked_line(number, line) for number, line in enumerate(text.strip().splitlines(), start=1))
    return Script("Very well: the sounds of the valley", (Section("Passage", passage=True),), lines)


@cache
def studied(
    text: str = PASSAGE, sounds: str = "v/w", language: str = "en", *, voiced: bool = False
) -> tuple[Programme, Samples]:
    """The programme, whose lesson is the take itself, and the take's sound: silence unless ``voiced``."""
    script = lesson_script(text)
    readings: list[Reading] = []
    passes: list[Pass] = []
    said: list[Said] = []
    at_ms = 500
    kinds: tuple[tuple[PassKind, int], ...] = (("model", PAUSE_MS), ("repeat", GAP_MS))
    for kind, pause_ms in kinds:
        first_ms = at_ms
        for line in script.lines:
            count = len(spoken(line.text))
            spans = [
                Span(at_ms + n * (WORD_MS + SPACE_MS), at_ms + n * (WORD_MS + SPACE_MS) + WORD_MS) for n in range(count)
            ]
            span = spans[0].hull(spans[-1])
            read = tuple(ReadWord(word, own, word) for word, own in zip(spoken(line.text), spans, strict=True))
            identity = f"R{len(readings) + 1:03d}"
            readings.append(Reading(identity, line.id, f"P-{kind}", "full", True, span, span, read, (), 1.0))
            said.append(_said(len(said), line, kind, identity, spans, pause_ms))
            at_ms = span.end_ms + pause_ms
        passes.append(Pass(f"P-{kind}", kind, Span(first_ms, at_ms)))
    samples = _sound(readings, at_ms) if voiced else np.zeros(at_ms * PER_MS, dtype=np.int16)
    match = Match(tuple(passes), tuple(readings), (), 1.0)
    found = study(script, match, samples, measure(samples), sounds=sounds, commonness=_length, language=language)
    parts = (
        Part("Model reading", Span(0, passes[1].span.start_ms)),
        Part("Your turn", Span(passes[1].span.start_ms, at_ms)),
    )
    return Programme(script.title, language, "lesson", RATE_25, at_ms, parts, tuple(said), (), found), samples


def _length(word: str) -> float:
    """Short words count as common: the tests need no language model."""
    return -float(len(word))


def _said(item: int, line: Line, kind: PassKind, reading_id: str, spans: list[Span], pause_ms: int) -> Said:
    ends = [token.start for token in tokens(line.text)[1:]] + [len(line.text)]
    shown = [line.text[token.start : end].strip() for token, end in zip(tokens(line.text), ends, strict=True)]
    counts = [len(token.spoken) for token in tokens(line.text)]
    lasts = list(accumulate(counts))
    own = [spans[last - count].hull(spans[last - 1]) for last, count in zip(lasts, counts, strict=True)]
    words = tuple(LessonWord(text, span) for text, span in zip(shown, own, strict=True))
    span = spans[0].hull(spans[-1])
    gap = GapMark(
        "repeat" if kind == "repeat" else "pause", pause_ms, None, Span(span.end_ms, span.end_ms + pause_ms),
        RATE_25.first_frame_from(span.end_ms), RATE_25.frame_at(span.end_ms + pause_ms),
    )  # fmt: skip
    mark = ItemMark(
        item=item, line_id=line.id, pass_id=f"P-{kind}", pass_kind=kind, reading_id=reading_id, part=1, parts=1,
        partial=False, lesson_span=span, lesson_in=RATE_25.frame_at(span.start_ms),
        lesson_out=RATE_25.frame_at(span.end_ms + pause_ms), words=words, gap=gap,
        syllables=sum(map(syllables, spoken(line.text))),
    )  # fmt: skip
    return Said(mark, span, words)


def _sound(readings: list[Reading], length_ms: int) -> Samples:
    """Every word a buzz that falls by three semitones; each reading's words step down, and a question's last rises."""
    wave = np.zeros(length_ms * PER_MS)
    for reading in readings:
        count = len(reading.words)
        for number, word in enumerate(reading.words):
            at = np.arange(WORD_MS * PER_MS)
            share = at / len(at)
            base = 220 * 2 ** ((4 * (1 - number / count) + (3 if number % 3 == 1 else 0) - 3 * share) / 12)
            phase = 2 * np.pi * np.cumsum(base) / RATE_HZ
            loud = 0.12 if number % 3 == 1 else 0.06
            buzz = sum((np.sin(k * phase) / k for k in range(1, 7)), np.zeros(len(at)))
            wave[word.span.start_ms * PER_MS :][: len(at)] = loud * np.hanning(len(at)) * buzz
    return np.asarray(wave * 32767, dtype=np.int16)
