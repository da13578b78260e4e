"""Captions: words with times, made into cues.

A cue begins on the first frame that starts at or after its first word's onset, and its words are those of one
stretch of speech. Its end is the earliest of:

* half a second after its last word (Netflix Timed Text Style Guide, older English template: the out-time may follow
  the audio by up to 12 frames of 24), or later where the shortest cue, 5/6 s, asks for it;
* seven seconds after its beginning (the same guide), unless its last word is still being said;
* two frames before the next speech begins, captioned or not (the same guide: a gap of two frames at any rate);
* the end of the programme.

Where that would leave a gap between two frames and half a second, the cue ends half a second before the next one, if
it can still be read (the same guide closes or avoids such gaps).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, zip_longest

from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.caption_breaks import LONGEST_MS, broken
from lessoncut.outputs.written import one_line
from lessoncut.times import FrameRate, Span

LONGEST_HANG_MS = 500
SHORTEST_S = Fraction(5, 6)
GAP_FRAMES = 2
PAUSE_BETWEEN_CUES_MS = 1000
"""No cue stands over a pause this long: its later words would be shown while nobody speaks."""
TEXT_RGB = (255, 255, 255)
BOX_RGB = (0, 0, 0)
COMFORTABLE_CPS = 17
"""Characters a second that a cue's end is not shortened past (the same guide, programmes for children)."""


Lines = tuple[tuple[LessonWord, ...], ...]
"""The words of each line on screen."""


@dataclass(frozen=True)
class Utterance:
    """One reading of a line, or one stretch of talk outside the script (``line_id`` None).

    ``words`` is empty for speech that has no caption; no other cue hangs on into it.
    """

    line_id: str | None
    span: Span
    words: tuple[LessonWord, ...]


@dataclass(frozen=True)
class Cue:
    """Frames ``[first_frame, end_frame)`` of the programme, and the lines on screen in them."""

    first_frame: int
    end_frame: int
    lines: Lines

    @property
    def words(self) -> tuple[LessonWord, ...]:
        return tuple(word for line in self.lines for word in line)

    @property
    def texts(self) -> tuple[str, ...]:
        return tuple(" ".join(word.text for word in line) for line in self.lines)

    @property
    def heard(self) -> Span:
        """From the first word's onset to the last word's end."""
        return self.words[0].span.hull(self.words[-1].span)


@dataclass(frozen=True)
class Captions:
    """Cues in order, on the frame grid of one programme. ``language`` is a BCP 47 tag."""

    language: str
    rate: FrameRate
    cues: tuple[Cue, ...]

    def span(self, cue: Cue) -> Span:
        """The cue's time in milliseconds."""
        return Span(self.rate.start_ms(cue.first_frame), self.rate.start_ms(cue.end_frame))


def captions(utterances: Sequence[Utterance], duration_ms: int, rate: FrameRate, language: str) -> Captions:
    """The captions of a programme of ``duration_ms`` in which the utterances are said, in time order."""
    rows: list[Lines] = []
    for stretch in _stretches(utterances):
        words = iter(stretch)
        for counts in broken(stretch, language):
            rows.append(tuple(tuple(islice(words, count)) for count in counts))
    unread = [rate.frame_at(utterance.span.start_ms) for utterance in utterances if not utterance.words]
    return Captions(language, rate, _timed(rows, unread, rate.frame_at(duration_ms), rate))


def _stretches(utterances: Sequence[Utterance]) -> list[list[LessonWord]]:
    """Words in runs with no long pause and no uncaptioned speech between them."""
    runs: list[list[LessonWord]] = []
    fresh = True
    for utterance in utterances:
        words = [LessonWord(one_line(word.text), word.span) for word in utterance.words]
        if not utterance.words:
            fresh = True
        for word in filter(lambda word: word.text, words):
            if fresh or word.span.start_ms - runs[-1][-1].span.end_ms >= PAUSE_BETWEEN_CUES_MS:
                runs.append([])
            runs[-1].append(word)
            fresh = False
    return runs


def _timed(rows: Sequence[Lines], unread: Sequence[int], last_frame: int, rate: FrameRate) -> tuple[Cue, ...]:
    starts: list[int] = []
    for lines in rows:
        onset = rate.first_frame_from(lines[0][0].span.start_ms)
        # A later cue waits where two begin so close together that the first could not be shown at all.
        starts.append(max(onset, starts[-1] + GAP_FRAMES + 1) if starts else onset)
    cues = []
    for lines, start, following in zip_longest(rows, starts, starts[1:]):
        at = bisect_right(unread, start + GAP_FRAMES)
        barriers = [*unread[at : at + 1], *([] if following is None else [following])]
        end = min(_end_frame(lines, start, min(barriers, default=None), rate), max(last_frame, start + 1))
        cues.append(Cue(start, end, lines))
    return tuple(cues)


def _end_frame(lines: Lines, start: int, following: int | None, rate: FrameRate) -> int:
    """``following`` is the frame in which the next speech begins."""
    heard_until_ms = lines[-1][-1].span.end_ms
    silent = rate.first_frame_from(heard_until_ms)
    shortest = start + math.ceil(SHORTEST_S * rate.per_second)
    longest = max(silent, start + math.floor(Fraction(LONGEST_MS, 1000) * rate.per_second))
    hanging = min(longest, max(shortest, rate.frame_at(heard_until_ms + LONGEST_HANG_MS)))
    if following is None:
        return hanging
    half_second = math.ceil(rate.per_second / 2)
    if GAP_FRAMES < following - hanging < half_second:
        characters = sum(len(word.text) + 1 for line in lines for word in line) - len(lines)
        readable = start + math.ceil(Fraction(characters, COMFORTABLE_CPS) * rate.per_second)
        return min(hanging, max(following - half_second, shortest, readable, silent))
    return min(hanging, following - GAP_FRAMES)
