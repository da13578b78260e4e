"""Captions that teach, as ASS: every word lights up when it is said; stress is bold, a focus underlined too.

For burning into the picture and for players that heed ASS. Times are in hundredths of a second.
"""

from __future__ import annotations

from dataclasses import replace

from pysubs2 import Color, SSAEvent, SSAFile

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.captions_ass import styled_file
from lessoncut.outputs.left_out import of_rules
from lessoncut.outputs.teaching_cues import Letters, TaughtCue, TaughtWord, taught_cues
from lessoncut.outputs.written import lookalikes

_APART = "{\\fs32}"
"""An empty row between the call and the line: their boxes would touch."""
_UNSAID = Color(176, 176, 176)
_TAGS = {0: ("", ""), 1: (r"\b1", r"\b0"), 2: (r"\b1\u1", r"\b0\u0")}


def captions_teaching_ass(programme: Programme) -> str:
    file: SSAFile = styled_file(programme)
    clean = file.styles["Default"]
    text, box = clean.primarycolor, clean.outlinecolor
    file.styles = {
        "Default": replace(clean, secondarycolor=_UNSAID),
        "Turn": replace(clean, primarycolor=box, outlinecolor=text, backcolor=text),
    }
    for cue in taught_cues(programme):
        file.append(SSAEvent(start=cue.span.start_ms, end=cue.span.end_ms, text=_text(cue)))
    return file.to_string("ass", header_notice="")


def _text(cue: TaughtCue) -> str:
    rows = [" ".join(map(_word, row)) for row in cue.rows] if cue.call else _lit(cue)
    call = "" if cue.call is None else rf"{{\rTurn}}{_safe(cue.call)}{{\r}}\N{_APART}\N{{\r}}"
    return call + r"\N".join(rows)


def _lit(cue: TaughtCue) -> list[str]:
    """Every word after how long it waits and lasts: ``\\k`` counts on from the cue's start."""
    at_cs = cue.span.start_ms // 10
    rows = []
    for row in cue.rows:
        written = []
        for word in row:
            start_cs, end_cs = word.span.start_ms // 10, word.span.end_ms // 10
            wait = rf"{{\k{start_cs - at_cs}}}" if start_cs > at_cs else ""
            at_cs = max(at_cs, start_cs)
            written.append(wait + _word(word, lasts_cs=max(0, end_cs - at_cs)))
            at_cs = max(at_cs, end_cs)
        rows.append(" ".join(written))
    return rows


def _word(word: TaughtWord, lasts_cs: int | None = None) -> str:
    """The word; with ``lasts_cs`` it lights up as a whole, within a few hundredths.

    A ``\\k`` reaches no further than letters that look alike, so each part has one of its own: all but the last take a
    hundredth, for a ``\\k0`` is passed over behind letters of the same look.
    """
    parts = list(map(_letters, word.letters))
    if lasts_cs is None:
        return "".join(parts)
    each = [min(1, lasts_cs // len(parts))] * (len(parts) - 1)
    return "".join(rf"{{\k{own_cs}}}{part}" for own_cs, part in zip([*each, lasts_cs - sum(each)], parts, strict=True))


def _letters(letters: Letters) -> str:
    opened, closed = _TAGS[letters.stress]
    if letters.sound:
        opened, closed = opened + r"\i1", closed + r"\i0"
    text = _safe(letters.text)
    return f"{{{opened}}}{text}{{{closed}}}" if opened else text


def _safe(text: str) -> str:
    return lookalikes(text, "{}\\")


OUTPUT = Output(
    name="captions-teaching-ass",
    says="the same for burning in: words light up, stress is bold",
    suffix=".ass",
    make=captions_teaching_ass,
    of_study=True,
    left_out=of_rules,
)
