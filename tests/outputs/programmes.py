"""Programmes for the tests of outputs, written by hand: a scenario of our own."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from lessoncut import wording
from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.programme import Part, Programme, Said
from lessoncut.timeline.records import GapKind, GapMark, ItemMark
from lessoncut.times import FrameRate, Span

RATE_25 = FrameRate(Fraction(25))
RATE_29_97 = FrameRate(Fraction(30000, 1001))


def words(text: str, start_ms: int, word_ms: int = 340, pauses: dict[int, int] | None = None) -> tuple[LessonWord, ...]:
    """The text's words one after the other, each ``word_ms`` long; ``pauses`` follow the words at those places."""
    spoken: list[LessonWord] = []
    at_ms = start_ms
    for place, word in enumerate(text.split()):
        spoken.append(LessonWord(word, Span(at_ms, at_ms + word_ms)))
        at_ms += word_ms + (pauses or {}).get(place, 0)
    return tuple(spoken)


def said(
    item: int,
    text: str,
    start_ms: int,
    gap_ms: int,
    *,
    line_id: str | None = None,
    pass_kind: str | None = None,
    gap: GapKind = "pause",
    recorded_ms: int | None = None,
    part: tuple[int, int] = (1, 1),
    clamped: bool = False,
    pauses: dict[int, int] | None = None,
) -> Said:
    """One item whose gap begins where its last word ends."""
    spoken = words(text, start_ms, pauses=pauses)
    span = Span(start_ms, spoken[-1].span.end_ms)
    after = Span(span.end_ms, span.end_ms + gap_ms)
    mark = ItemMark(
        item=item,
        line_id=line_id,
        pass_id=pass_kind and f"P-{pass_kind}",
        pass_kind=pass_kind,  # type: ignore[arg-type]
        reading_id=line_id and f"R{item:03d}",
        part=part[0],
        parts=part[1],
        partial=False,
        lesson_span=span,
        lesson_in=RATE_29_97.frame_at(start_ms),
        lesson_out=RATE_29_97.first_frame_from(after.end_ms),
        words=spoken,
        gap=GapMark(gap, gap_ms, recorded_ms, after, 0, 0, clamped),
        syllables=sum(map(wording.syllables, wording.spoken(text))),
    )
    return Said(mark, span, spoken)


def programme(
    items: Sequence[Said],
    *,
    parts: Sequence[tuple[str, int]] = (("Lesson", 0),),
    duration_ms: int | None = None,
    title: str = "Ship or sheep",
    language: str = "en-GB",
    rate: FrameRate = RATE_29_97,
    other_speech: tuple[Span, ...] = (),
) -> Programme:
    """``parts`` are titles with their starts; the programme ends with the last item's gap unless told."""
    end_ms = duration_ms if duration_ms is not None else max(one.mark.gap.lesson_span.end_ms for one in items)
    edges = [*(start_ms for _, start_ms in parts), end_ms]
    spans = [Span(start_ms, stop_ms) for start_ms, stop_ms in pairwise(edges)]
    return Programme(
        title=title,
        language=language,
        clock="lesson",
        rate=rate,
        duration_ms=end_ms,
        parts=tuple(Part(name, span) for (name, _), span in zip(parts, spans, strict=True)),
        said=tuple(items),
        other_speech=other_speech,
    )


_TWO_SOUNDS = "Today we listen to two sounds that many learners confuse: the one in ship and the one in sheep."
_KEEP = 'Dr. Whitcombe said, "Keep 3.5 & <not> 4 sheep'
_ASLEEP = 'asleep in the deep hold until the storm has passed."'
_HARBOUR: tuple[tuple[str, str | None, str | None, int, int | None], ...] = (
    # text, line id, pass, gap after it, pause in the take
    ("Welcome back to the workshop at the old harbour, where every boat has a name.", "L001", None, 800, 800),
    (_TWO_SOUNDS, "L002", None, 500, 500),
    ("Yes.", "L003", None, 300, 300),
    ("I mean, open your mouth a little.", None, None, 1600, None),
    ("The ship was slow.", "L004", "model", 700, 700),
    (f"{_KEEP} {_ASLEEP}", "L005", "model", 900, 900),
    ("=SUM of all the sheep -->", "L006", "model", 1500, 1500),
    ("The ship was slow.", "L004", "repeat", 2900, 2400),
    (_KEEP, "L005", "repeat", 5100, 4000),
    (_ASLEEP, "L005", "repeat", 5400, None),
    ("=SUM of all the sheep -->", "L006", "repeat", 3300, 2000),
    ("Well done, and see you at the next tide.", "L007", None, 1500, 1500),
)
_CHAPTERS = {0: "Opening", 1: "Two sounds; which = which?", 4: "Model <1>", 7: "Repeat -->\nnow you", 11: "Ending #5"}
"""Titles by the item that they begin with."""
_PARTS = {8: (1, 2), 9: (2, 2)}
_PAUSES = {0: {8: 260}, 5: {8: 260}}


def harbour() -> Programme:
    """A small lesson at 29.97 frames a second with awkward text in its titles and lines."""
    items: list[Said] = []
    parts: list[tuple[str, int]] = []
    at_ms = 1001
    for place, (text, line_id, kind, gap_ms, recorded_ms) in enumerate(_HARBOUR):
        if place in _CHAPTERS:
            frame = RATE_29_97.frame_at(at_ms - 400) if place else 0
            parts.append((_CHAPTERS[place], RATE_29_97.start_ms(frame)))
        one = said(
            place,
            text,
            at_ms,
            gap_ms,
            line_id=line_id,
            pass_kind=kind,
            gap="repeat" if kind == "repeat" else "pause",
            recorded_ms=recorded_ms,
            part=_PARTS.get(place, (1, 1)),
            clamped=place == 9,
            pauses=_PAUSES.get(place),
        )
        items.append(one)
        at_ms = one.mark.gap.lesson_span.end_ms
    return programme(items, parts=parts, title="Ship & sheep: {\\b1}vowels")
