"""Captions that teach, as WebVTT: every word lights up when it is said, stress and target sounds have classes.

The style block needs a player that heeds WebVTT's ``::cue``; others show the plain words.
"""

from __future__ import annotations

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.left_out import of_rules
from lessoncut.outputs.teaching_cues import Letters, TaughtCue, TaughtWord, taught_cues
from lessoncut.outputs.written import markup_escaped, timestamp

_STYLE = """STYLE
::cue {
  color: #ffffff;
  background: #000000;
}
::cue(:future) {
  color: #c4c4c4;
}
::cue(.stress) {
  font-weight: bold;
}
::cue(.focus) {
  font-weight: bold;
  text-decoration: underline;
}
::cue(.sound1) {
  font-style: italic;
}
::cue(.sound2) {
  outline: 1px solid #ffffff;
}
::cue(.sound3) {
  text-decoration: overline;
}
::cue(.turn) {
  color: #000000;
  background: #ffffff;
}
"""
"""Weight, line and slant carry the meaning; the two greys stand 12:1 and more over black (WCAG 2.2, 1.4.6)."""
_CLASSES = {1: "stress", 2: "focus"}


def captions_teaching_webvtt(programme: Programme) -> str:
    blocks = [_cue(number, cue) for number, cue in enumerate(taught_cues(programme), start=1)]
    return "\n".join(["WEBVTT\n", _STYLE, *blocks])


def _cue(number: int, cue: TaughtCue) -> str:
    times = f"{timestamp(cue.span.start_ms)} --> {timestamp(cue.span.end_ms)}"
    call = [] if cue.call is None else [f"<c.turn>{markup_escaped(cue.call)}</c>"]
    latest_ms = cue.span.start_ms
    rows = []
    for row in cue.rows:
        written = []
        for word in row:
            # Inner timestamps lie strictly inside the cue and rise (WebVTT, 4.2.2).
            stamped = cue.call is None and latest_ms < word.span.start_ms < cue.span.end_ms
            if stamped:
                latest_ms = word.span.start_ms
            written.append(f"{f'<{timestamp(latest_ms)}>' if stamped else ''}{_word(word)}")
        rows.append(" ".join(written))
    return "\n".join([str(number), times, *call, *rows, ""])


def _word(word: TaughtWord) -> str:
    return "".join(map(_letters, word.letters))


def _letters(letters: Letters) -> str:
    classes = [_CLASSES[letters.stress]] if letters.stress else []
    classes += [f"sound{letters.sound}"] if letters.sound else []
    text = markup_escaped(letters.text)
    return f"<c.{'.'.join(classes)}>{text}</c>" if classes else text


OUTPUT = Output(
    name="captions-teaching-webvtt",
    says="captions that light up word by word, with stress, target sounds and the learner's turn",
    suffix=".vtt",
    make=captions_teaching_webvtt,
    of_study=True,
    left_out=of_rules,
)
