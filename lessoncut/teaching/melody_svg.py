"""A line's melody drawn over its words, as SVG.

The words stand in ordinary rows, as many as a sheet of paper needs; time is stretched so that every word's pitch lies
over that word. Pitch is a thick stroke, broken where there is no voice; thin rules lie every six semitones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from lessoncut.script.records import Line
from lessoncut.teaching.records import ReadingStudy, RuleLine
from lessoncut.teaching.stress_measured import strong_words
from lessoncut.times import Span

SEMITONES = 12
"""Shown on either side of the speaker's median; what lies beyond is drawn at the edge."""
LEAP_ST = 2.0
"""No voice glides so far within a frame (Xu and Sun 2002: under 100 semitones a second; from memory)."""
LEAST_TORN = 5
"""Frames; what a leap tears off and is shorter belongs to a consonant, and is not drawn."""
ROW_MM = 17.0
"""How high a row is on paper, where its letters are about 8 points large."""
KEY = "the thin line is the voice's middle, the dotted ones lie half an octave above and below"
_CURVE, _TOP = 60.0, 6.0
_ROW = _TOP + _CURVE + 22.0
_MOST_WIDE = 800.0
"""Of a row: fits A4 and Letter beside a line's number and time, where a row is ``ROW_MM`` high."""
_LETTER, _SPACE, _SIDE = 8.0, 7.0, 8.0
_DASHED = 'stroke-width="0.5" stroke-dasharray="2 4"'
_BOLD = ' font-weight="bold"'
_TONES = {"fall": "falls", "rise": "rises", "level": "stays level", None: "cannot be told"}


@dataclass(frozen=True)
class Melody:
    """The drawing, and how many rows it has."""

    svg: str
    rows: int


@dataclass(frozen=True)
class _Box:
    """Where a word stands: which row, and its left and right edge."""

    row: int
    left: float
    right: float


def melody_svg(line: Line, rule: RuleLine, reading: ReadingStudy) -> Melody | None:
    """The drawing, or None for a reading without voice or without times of its words."""
    if reading.contour is None or not rule.words or any(span is None for span in reading.word_spans):
        return None
    spans = [span for span in reading.word_spans if span is not None]
    bold = strong_words(line, rule)
    boxes = _boxes([word.text for word in rule.words], {end for _, end in rule.groups})
    rows, width = boxes[-1].row + 1, max(box.right for box in boxes) + _SIDE
    title = f"Melody of: {line.text}"
    says = (
        f"Pitch over the words, {SEMITONES} semitones up and down from the speaker's middle. "
        f"At the end the melody {_TONES[reading.tone]}."
    )
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {rows * _ROW:.0f}" width="{width:.0f}" '
        f'height="{rows * _ROW:.0f}" role="img" font-family="Libertinus Serif, Georgia, serif" font-size="15">',
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(says)}</desc>",
        *(rule_line for row in range(rows) for rule_line in _rules(row, boxes)),
        *(f'<polyline points="{points}" fill="none" stroke="#1d2b3a" stroke-width="2.6" stroke-linecap="round" '
          f'stroke-linejoin="round"/>' for points in _strokes(reading, spans, boxes)),
        *(f'<text x="{(box.left + box.right) / 2:.1f}" y="{box.row * _ROW + _TOP + _CURVE + 15:.1f}" '
          f'text-anchor="middle" fill="#111"{_BOLD if number in bold else ""}>{escape(word.text)}</text>'
          for number, (word, box) in enumerate(zip(rule.words, boxes, strict=True))),
        "</svg>",
    ]  # fmt: skip
    return Melody("".join(parts), rows)


def _boxes(words: Sequence[str], group_ends: set[int]) -> list[_Box]:
    """Where every word stands. A row ends with a thought group where that leaves it half full or more."""
    wide = [max(2.0, len(word)) * _LETTER for word in words]
    boxes: list[_Box] = []
    start = row = 0
    while start < len(words):
        at = _SIDE
        own: list[_Box] = []
        for width in wide[start:]:
            if own and at + width + _SIDE > _MOST_WIDE:
                break
            own.append(_Box(row, at, at + width))
            at += width + _SPACE
        end = start + len(own)
        if end < len(words):
            end = max((one for one in group_ends if start + len(own) / 2 <= one <= end), default=end)
        boxes += own[: end - start]
        start, row = end, row + 1
    return boxes


def _rules(row: int, boxes: Sequence[_Box]) -> list[str]:
    """Thin rules at 0 and every six semitones; the middle one is stronger."""
    width = max(box.right for box in boxes if box.row == row) + _SIDE
    return [
        f'<line x1="0" x2="{width:.0f}" y1="{_height(level, row):.1f}" y2="{_height(level, row):.1f}" '
        f'stroke="#9aa4ae" {looks}/>'
        for level, looks in ((-6, _DASHED), (0, 'stroke-width="0.9"'), (6, _DASHED))
    ]


def _height(semitones: float, row: int) -> float:
    inside = max(-SEMITONES, min(SEMITONES, semitones))
    return row * _ROW + _TOP + _CURVE * (SEMITONES - inside) / (2 * SEMITONES)


def _strokes(reading: ReadingStudy, spans: Sequence[Span], boxes: Sequence[_Box]) -> list[str]:
    """The points of every voiced stretch of two frames and more; a leap or a new row parts two strokes."""
    contour = reading.contour
    if contour is None:
        return []
    strokes: list[list[str]] = [[]]
    torn: set[int] = set()
    before: tuple[float, int] | None = None
    for frame, semitones in enumerate(contour.semitones):
        row, x = _across(contour.start_ms + (frame + 0.5) * contour.hop_ms, spans, boxes)
        leaps = semitones is not None and before is not None and abs(semitones - before[0]) > LEAP_ST
        if leaps:
            torn |= {len(strokes) - 1, len(strokes)}
        if semitones is None or leaps or (before and row != before[1]):
            strokes.append([])
        before = None if semitones is None else (semitones, row)
        if semitones is not None:
            strokes[-1].append(f"{x:.1f},{_height(semitones, row):.1f}")
    return [
        " ".join(points)
        for number, points in enumerate(strokes)
        if len(points) >= (LEAST_TORN if number in torn else 2)
    ]


def _across(at_ms: float, spans: Sequence[Span], boxes: Sequence[_Box]) -> tuple[int, float]:
    """Row and place of a moment: inside its word, or in the space of a pause."""
    row, before = 0, boxes[0].left
    since = float(spans[0].start_ms)
    for span, box in zip(spans, boxes, strict=True):
        for until_ms, place in ((span.start_ms, box.left), (span.end_ms, box.right)):
            if at_ms < until_ms:
                share = (at_ms - since) / (until_ms - since) if until_ms > since and box.row == row else 0.0
                return row, before + max(0.0, share) * (place - before)
            row, before, since = box.row, place, float(until_ms)
    return row, before
