"""A line's melody drawn over its words, as SVG.

The words stand in an ordinary row; time is stretched so that every word's pitch lies over that word. Pitch is a thick
stroke, broken where there is no voice; thin rules lie every six semitones.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lessoncut.script.records import Line
from lessoncut.teaching.pitch import MOST_STEP
from lessoncut.teaching.records import ReadingStudy, RuleLine
from lessoncut.teaching.stress_measured import strong_words
from lessoncut.times import Span

SEMITONES = 12
"""Shown on either side of the speaker's median; what lies beyond is drawn at the edge."""
LEAP_ST = 12 * MOST_STEP
"""No voice glides so far within a frame: what lies between is not drawn."""
_ROW, _CURVE, _TOP = 22.0, 60.0, 6.0
_LETTER, _SPACE, _SIDE = 8.0, 7.0, 8.0
_DASHED = 'stroke-width="0.5" stroke-dasharray="2 4"'
_BOLD = ' font-weight="bold"'
_TONES = {"fall": "falls", "rise": "rises", "level": "stays level", None: "cannot be told"}


def melody_svg(line: Line, rule: RuleLine, reading: ReadingStudy) -> str | None:
    """The drawing, or None for a reading without voice or without times of its words."""
    if reading.contour is None or not rule.words or any(span is None for span in reading.word_spans):
        return None
    spans = [span for span in reading.word_spans if span is not None]
    bold = strong_words(line, rule)
    boxes, width = _boxes([word.text for word in rule.words])
    title = f"Melody of: {line.text}"
    says = (
        f"Pitch over the words, {SEMITONES} semitones up and down from the speaker's middle. "
        f"At the end the melody {_TONES[reading.tone]}."
    )
    height = _TOP + _CURVE + _ROW
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" role="img" font-family="Libertinus Serif, Georgia, serif" font-size="15">',
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(says)}</desc>",
        *_rules(width),
        *(f'<polyline points="{points}" fill="none" stroke="#1d2b3a" stroke-width="2.6" stroke-linecap="round" '
          f'stroke-linejoin="round"/>' for points in _strokes(reading, spans, boxes)),
        *(f'<text x="{(left + right) / 2:.1f}" y="{_TOP + _CURVE + 15:.1f}" text-anchor="middle" fill="#111"'
          f'{_BOLD if number in bold else ""}>{escape(word.text)}</text>'
          for number, (word, (left, right)) in enumerate(zip(rule.words, boxes, strict=True))),
        "</svg>",
    ]  # fmt: skip
    return "".join(parts)


def _boxes(words: Sequence[str]) -> tuple[list[tuple[float, float]], float]:
    """Left and right edge of every word, and the width of the whole row."""
    boxes, at = [], _SIDE
    for word in words:
        wide = max(2.0, len(word)) * _LETTER
        boxes.append((at, at + wide))
        at += wide + _SPACE
    return boxes, at - _SPACE + _SIDE


def _rules(width: float) -> list[str]:
    """Thin rules at 0 and every six semitones; the middle one is stronger."""
    return [
        f'<line x1="0" x2="{width:.0f}" y1="{_height(level):.1f}" y2="{_height(level):.1f}" stroke="#9aa4ae" {looks}/>'
        for level, looks in ((-6, _DASHED), (0, 'stroke-width="0.9"'), (6, _DASHED))
    ]


def _height(semitones: float) -> float:
    inside = max(-SEMITONES, min(SEMITONES, semitones))
    return _TOP + _CURVE * (SEMITONES - inside) / (2 * SEMITONES)


def _strokes(reading: ReadingStudy, spans: Sequence[Span], boxes: Sequence[tuple[float, float]]) -> list[str]:
    """The points of every voiced stretch of two frames and more; a leap parts two strokes."""
    contour = reading.contour
    if contour is None:
        return []
    strokes: list[list[str]] = [[]]
    before = None
    for frame, semitones in enumerate(contour.semitones):
        if semitones is None or (before is not None and abs(semitones - before) > LEAP_ST):
            strokes.append([])
        before = semitones
        if semitones is not None:
            at_ms = contour.start_ms + (frame + 0.5) * contour.hop_ms
            strokes[-1].append(f"{_across(at_ms, spans, boxes):.1f},{_height(semitones):.1f}")
    return [" ".join(points) for points in strokes if len(points) > 1]


def _across(at_ms: float, spans: Sequence[Span], boxes: Sequence[tuple[float, float]]) -> float:
    """Where a moment lies in the row of words: inside its word, or in the space of a pause."""
    before = boxes[0][0]
    since = float(spans[0].start_ms)
    for span, (left, right) in zip(spans, boxes, strict=True):
        for until_ms, place in ((span.start_ms, left), (span.end_ms, right)):
            if at_ms < until_ms:
                share = (at_ms - since) / (until_ms - since) if until_ms > since else 0.0
                return before + max(0.0, share) * (place - before)
            before, since = place, float(until_ms)
    return boxes[-1][1]
