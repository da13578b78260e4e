"""A hearing written by hand, for tests and for looking at a real one.

One utterance a line: when it starts, what is heard, when it ends, in seconds, two spaces or more between them:

     0.5  welcome to the lesson            2.1
     3.0  the river is wide                4.4
     6.2  the river  6.9  runs cold        8.0      a time inside: "runs" starts there
     9.5  the ~reever is wide             10.9      ~ the recogniser is unsure of this word
    12.0  ...                             13.5      speech that gave no words
    20.0  [thanks for watching]           22.0      text with no speech behind it
    25.0  (cough)                         25.3      a sound that is not speech; (laughter) sounds like that
    28.0  <vvvv>                          29.2      a sound held for demonstration

Words share their stretch evenly. Each utterance is one span of speech from its first time to its last; what stands
after the last time is a remark.
"""

from __future__ import annotations

import re
from itertools import pairwise

from lessoncut.hearing.records import HeardWord, Hearing, Sound
from lessoncut.times import Span, milliseconds, without

SURE = 0.95
UNSURE = 0.3
LAUGHTER = "(laughter)"
_TIME = re.compile(r"\d+(\.\d+)?")


def told(text: str, *, duration_s: float | None = None, language: str = "en") -> Hearing:
    """The hearing that ``text`` spells; it lasts one second longer than the last utterance unless told.

    Raises ValueError with the line that is not in the notation, or not in time order.
    """
    speech: list[Span] = []
    words: list[HeardWord] = []
    sounds: list[Sound] = []
    at_ms = 0
    for line in filter(None, map(str.strip, text.splitlines())):
        pieces = _pieces(line)
        whole = pieces[0][0].hull(pieces[-1][0])
        if whole.start_ms < at_ms:
            raise ValueError(f"not in time order: {line!r}")
        at_ms = whole.end_ms
        if pieces[0][1].startswith(("(", "<")):
            sounds.append(Sound(whole, -30.0, held=pieces[0][1].startswith("<"), laughter=pieces[0][1] == LAUGHTER))
            continue
        invented = pieces[0][1].startswith("[")
        if not invented:
            speech.append(whole)
        for span, heard in pieces:
            words += _spread(heard.strip("[]").split(), span, voiced=0.0 if invented else 1.0)
    return Hearing(
        duration_ms=at_ms + 1000 if duration_s is None else milliseconds(duration_s),
        language=language,
        engine="told",
        speech=tuple(speech),
        words=tuple(words),
        sounds=tuple(sounds),
        floor_db=-60.0,
        speech_db=-25.0,
    )


def _pieces(line: str) -> list[tuple[Span, str]]:
    fields = re.split(r"\s{2,}|\t", line)
    marks: list[int] = []
    texts: list[str] = []
    for field in fields:
        if _TIME.fullmatch(field) and len(marks) == len(texts):
            marks.append(milliseconds(float(field)))
        elif len(texts) < len(marks):
            texts.append(field)
        else:
            break
    texts = texts[: len(marks) - 1]
    if not texts:
        raise ValueError(f"expected 'start  words  end', found {line!r}")
    return [(Span(start, end), heard) for (start, end), heard in zip(pairwise(marks), texts, strict=True)]


def _spread(heard: list[str], span: Span, voiced: float) -> list[HeardWord]:
    if heard == ["..."]:
        return []
    edges = [span.start_ms + span.length_ms * index // len(heard) for index in range(len(heard) + 1)]
    return [
        HeardWord(word.removeprefix("~"), Span(start, end), UNSURE if word.startswith("~") else SURE, voiced)
        for word, (start, end) in zip(heard, pairwise(edges), strict=True)
    ]


def written(hearing: Hearing) -> str:
    """The hearing in the notation, one line a span of speech; word times inside a span are not kept."""
    rows: list[tuple[Span, str]] = []
    left = list(hearing.words)
    for span in hearing.speech:
        inside = [word for word in left if word.voiced > 0 and span.contains(word.span.middle_ms)]
        left = [word for word in left if word not in inside]
        rows.append((span, " ".join(map(_spelt, inside)) or "..."))
    rows += [(word.span, f"[{_spelt(word)}]") for word in left]
    rows += [
        (sound.span, "<held>" if sound.held else LAUGHTER if sound.laughter else "(sound)") for sound in hearing.sounds
    ]
    # Overlaps cannot be told: what lies inside an earlier row is shortened to what sticks out.
    lines: list[str] = []
    at_ms = 0
    for span, heard in sorted(rows):
        for free in without(span, [Span(0, at_ms)])[:1]:
            at_ms = free.end_ms
            lines.append(f"{free.start_ms / 1000:9.3f}  {heard}  {free.end_ms / 1000:.3f}")
    return "\n".join(lines)


def _kind(sound: Sound) -> str:
    return "<held>" if sound.held else LAUGHTER if sound.laughter else "(sound)"


def _spelt(word: HeardWord) -> str:
    return f"~{word.text}" if word.probability < (SURE + UNSURE) / 2 else word.text
