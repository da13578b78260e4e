"""A take told by hand: what was read when, one line a reading, and the match that follows from it.

model P1 1000 9000          a pass
L001 P1 1000 2200           a full reading; the last one of a line in a pass is kept
L001 P1 1000 1600 partial 2 the line's first two words
L001 -  1000 2200           outside the passage
talk 3000 3600 once more    speech outside the script
held 3000 4200              a sound held for demonstration
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from lessoncut import wording
from lessoncut.matching.records import Aside, Change, Match, Pass, Reading, ReadingKind, ReadWord
from lessoncut.script.records import Line, Script, Section
from lessoncut.take.records import Picture, SoundTrack, Take, TakeFile
from lessoncut.times import FrameRate, Span

MARKET = Script(
    "Van and wan",
    (Section("Welcome"), Section("At the market", passage=True), Section("Goodbye")),
    (
        Line("L001", "Hello, and welcome.", 0, False),
        Line("L002", "Listen to the two sounds.", 0, False),
        Line("L003", "Vic sells very fine wool.", 1, True),
        Line("L004", "We want seven vests, please.", 1, True),
        Line("L005", "The wind is wild, and the van is slow.", 1, True),
        Line("L006", "Well done.", 2, False),
    ),
)
"""An invented scene at a wool stall."""

CLEAN = """
    L001 -  1000 2200
    L002 -  2900 4300
    model P1 6000 13000
    L003 P1 6000 7800
    L004 P1 8300 10200
    L005 P1 10900 13000
    repeat P2 15000 31000
    L003 P2 15000 16900
    L004 P2 20500 22400
    L005 P2 26000 28300
    L006 -  33000 33900
"""


def told(script: Script, text: str) -> Match:
    """The match of a take told like above. Readings get ids R01, R02... in time order."""
    passes: list[Pass] = []
    asides: list[Aside] = []
    readings: list[Reading] = []
    for row in text.strip().splitlines():
        if not row.strip():
            continue
        name, *rest = row.split()
        if name in ("model", "repeat"):
            passes.append(Pass(rest[0], "model" if name == "model" else "repeat", Span(int(rest[1]), int(rest[2]))))
        elif name == "held":
            asides.append(Aside(Span(int(rest[0]), int(rest[1])), (), held=True))
        elif name == "talk":
            asides.append(Aside(Span(int(rest[0]), int(rest[1])), tuple(rest[2:])))
        else:
            readings.append(_reading(script, name, rest))
    asides.sort(key=lambda aside: aside.span)
    placed = _with_cuts(sorted(readings, key=lambda reading: reading.span), asides)
    last = {(r.line_id, r.pass_id): r.id for r in placed if r.kind == "full"}
    kept = tuple(replace(r, kept=last.get((r.line_id, r.pass_id)) == r.id) for r in placed)
    return Match(tuple(passes), kept, tuple(asides), 1.0)


def _reading(script: Script, line_id: str, rest: list[str]) -> Reading:
    pass_id, start, end, *partial = rest
    span = Span(int(start), int(end))
    said = wording.spoken(script.line(line_id).text)
    kind: ReadingKind = "partial" if partial else "full"
    words = said[: int(partial[1])] if partial else said
    marks = [span.start_ms + span.length_ms * at // len(words) for at in range(len(words) + 1)]
    read = tuple(ReadWord(word, Span(marks[at], marks[at + 1]), word) for at, word in enumerate(words))
    return Reading("", line_id, None if pass_id == "-" else pass_id, kind, False, span, span, read, (), 0.9)


def _with_cuts(readings: list[Reading], asides: list[Aside]) -> list[Reading]:
    """Handles of 60 and 90 ms, never across the middle between two neighbours."""
    speech = sorted([*(reading.span for reading in readings), *(aside.span for aside in asides)])
    out = []
    for number, reading in enumerate(readings, start=1):
        at = speech.index(reading.span)
        before = (speech[at - 1].end_ms + reading.span.start_ms) // 2 if at else 0
        after = (speech[at + 1].start_ms + reading.span.end_ms) // 2 if at + 1 < len(speech) else 10**9
        cut = Span(
            min(reading.span.start_ms, max(reading.span.start_ms - 60, before)),
            max(reading.span.end_ms, min(reading.span.end_ms + 90, after)),
        )
        out.append(replace(reading, id=f"R{number:02d}", cut=cut))
    return out


def reading(match: Match, reading_id: str) -> Reading:
    return next(item for item in match.readings if item.id == reading_id)


def with_words(match: Match, reading_id: str, *spans: tuple[int, int]) -> Match:
    """The reading with its words on these spans."""
    old = reading(match, reading_id)
    words = tuple(replace(word, span=Span(*span)) for word, span in zip(old.words, spans, strict=True))
    return swapped(match, replace(old, words=words))


def with_change(match: Match, reading_id: str, first: int, last: int, *heard: str) -> Match:
    """The reading with words ``[first, last]`` read as others."""
    old = reading(match, reading_id)
    script = tuple(word.text for word in old.words[first : last + 1])
    return swapped(match, replace(old, changes=(*old.changes, Change(first, last, script, heard, 9.0))))


def swapped(match: Match, new: Reading) -> Match:
    return replace(match, readings=tuple(new if old.id == new.id else old for old in match.readings))


def take_of(*lengths_ms: int, rate: Fraction | int | None = 25, steady: bool = True) -> Take:
    """A take of files of these lengths; ``rate`` None has no picture."""
    picture = rate and Picture(640, 360, 0, FrameRate(Fraction(rate)), steady, "h264", "yuv420p", False)
    return Take(
        tuple(
            TakeFile(f"take{at}.mp4", "0" * 64, 1, 0, length, SoundTrack("aac", 48000, 1), picture or None)
            for at, length in enumerate(lengths_ms)
        )
    )
