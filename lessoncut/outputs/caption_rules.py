"""The rules of the published caption guides, each a check of one cue.

Guides contradict one another: a rule is either one that our captions are made to keep (``aimed``), or one that is
told so that the teacher can judge. Sources that were not opened when this was written are marked "from memory".
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from lessoncut.outputs.captions import PAUSE_BETWEEN_CUES_MS, Captions, Cue
from lessoncut.phrasing import break_between, ends_sentence, is_english, kept_together

_NETFLIX = "Netflix Timed Text Style Guide"
_NETFLIX_TEMPLATE = "Netflix English template (older edition)"
_BBC = "BBC Subtitle Guidelines"
_DCMP = "DCMP Captioning Key"


@dataclass(frozen=True)
class Found:
    """What a check saw in one cue, in words with its unit."""

    kept: bool
    saw: str


@dataclass(frozen=True)
class Rule:
    """``check`` gives None where the rule says nothing about that cue."""

    name: str
    says: str
    source: str
    aimed: bool
    check: Callable[[Captions, int], Found | None]


def checked(track: Captions) -> Iterator[tuple[Rule, int, Found]]:
    """Every rule on every cue that it speaks of; cues count from 0."""
    for rule in RULES:
        for at in range(len(track.cues)):
            found = rule.check(track, at)
            if found is not None:
                yield rule, at, found


def characters(cue: Cue) -> int:
    """Characters of the cue as they are read: spaces count, the line break counts as one."""
    return len(" ".join(cue.texts))


def shown_s(track: Captions, cue: Cue) -> Fraction:
    """How long the cue is on screen, exactly."""
    return (cue.end_frame - cue.first_frame) / track.rate.per_second


def _most_lines(track: Captions, at: int) -> Found:
    count = len(track.cues[at].lines)
    return Found(count <= 2, f"{count} line{'s' if count > 1 else ''}")


def _line_characters(most: int) -> Callable[[Captions, int], Found]:
    def check(track: Captions, at: int) -> Found:
        longest = max(len(text) for text in track.cues[at].texts)
        return Found(longest <= most, f"{longest} characters")

    return check


def _at_least(least_s: Fraction) -> Callable[[Captions, int], Found]:
    def check(track: Captions, at: int) -> Found:
        length_s = shown_s(track, track.cues[at])
        return Found(length_s >= least_s, f"{float(length_s):.2f} s")

    return check


def _at_most(most_s: int) -> Callable[[Captions, int], Found]:
    def check(track: Captions, at: int) -> Found:
        length_s = shown_s(track, track.cues[at])
        return Found(length_s <= most_s, f"{float(length_s):.2f} s")

    return check


def _seconds_a_word(track: Captions, at: int) -> Found:
    cue = track.cues[at]
    each_s = shown_s(track, cue) / _words(cue)
    return Found(each_s >= Fraction(3, 10), f"{float(each_s):.2f} s a word")


def _characters_a_second(most: int) -> Callable[[Captions, int], Found]:
    def check(track: Captions, at: int) -> Found:
        speed = characters(track.cues[at]) / shown_s(track, track.cues[at])
        return Found(speed <= most, f"{float(speed):.1f} characters a second")

    return check


def _words_a_minute(most: int) -> Callable[[Captions, int], Found]:
    def check(track: Captions, at: int) -> Found:
        speed = 60 * _words(track.cues[at]) / shown_s(track, track.cues[at])
        return Found(speed <= most, f"{float(speed):.0f} words a minute")

    return check


def _words(cue: Cue) -> int:
    return len(" ".join(cue.texts).split())


def _in_order(track: Captions, at: int) -> Found | None:
    if not at:
        return None
    return Found(track.cues[at].first_frame >= track.cues[at - 1].end_frame, f"{_gap_frames(track, at)} frames apart")


def _gap_frames(track: Captions, at: int) -> int:
    return track.cues[at].first_frame - track.cues[at - 1].end_frame


def _gap_at_least_two(track: Captions, at: int) -> Found | None:
    return Found(_gap_frames(track, at) >= 2, f"{_gap_frames(track, at)} frames") if at else None


def _no_short_gap(track: Captions, at: int) -> Found | None:
    """The guide's 3 to 11 frames of 24, as: more than two frames and less than half a second."""
    if not at:
        return None
    frames = _gap_frames(track, at)
    return Found(frames <= 2 or 2 * frames >= track.rate.per_second, f"{frames} frames")


def _gap_none_or_a_second(track: Captions, at: int) -> Found | None:
    """Two frames are taken for no gap."""
    if not at:
        return None
    frames = _gap_frames(track, at)
    return Found(frames <= 2 or frames >= track.rate.per_second, f"{float(frames / track.rate.per_second):.2f} s")


def _in_time(track: Captions, at: int) -> Found:
    cue = track.cues[at]
    late = cue.first_frame - track.rate.first_frame_from(cue.heard.start_ms)
    return Found(0 <= late <= 2, f"{late} frames after the first whole frame of speech")


def _no_anticipation(track: Captions, at: int) -> Found:
    early_ms = track.cues[at].heard.start_ms - track.span(track.cues[at]).start_ms
    return Found(early_ms <= 1500, f"{max(0, early_ms)} ms before the speech")


def _hang_ms(track: Captions, at: int) -> int:
    return max(0, track.span(track.cues[at]).end_ms - track.cues[at].heard.end_ms)


def _hangs_half_second(track: Captions, at: int) -> Found | None:
    """Says nothing of a cue that hangs on only to be shown for the least time a cue must."""
    cue = track.cues[at]
    least_frames = math.ceil(Fraction(5, 6) * track.rate.per_second)
    if _hang_ms(track, at) > 500 and cue.end_frame - cue.first_frame <= least_frames:
        return None
    return Found(_hang_ms(track, at) <= 500, f"{_hang_ms(track, at)} ms after the speech")


def _hangs_second_and_half(track: Captions, at: int) -> Found:
    return Found(_hang_ms(track, at) <= 1500, f"{_hang_ms(track, at)} ms after the speech")


def _stays_for_speech(track: Captions, at: int) -> Found:
    """A cue cut off before its words are over, by more than the two frames between cues."""
    cue = track.cues[at]
    short = track.rate.first_frame_from(cue.heard.end_ms) - cue.end_frame
    return Found(short <= 2, f"{max(0, short)} frames before the end of the speech")


def _no_long_pause(track: Captions, at: int) -> Found:
    words = track.cues[at].words
    longest = max((after.span.start_ms - before.span.end_ms for before, after in pairwise(words)), default=0)
    return Found(longest < PAUSE_BETWEEN_CUES_MS, f"{max(0, longest)} ms without a word")


def _one_sentence(track: Captions, at: int) -> Found:
    ends = sum(ends_sentence(word.text) for word in track.cues[at].words[:-1])
    return Found(ends == 0, f"{ends + 1} sentence{'s' if ends else ''}")


def _no_sentence_end_in_line(track: Captions, at: int) -> Found:
    for line, text in zip(track.cues[at].lines, track.cues[at].texts, strict=True):
        if any(ends_sentence(word.text) for word in line[:-1]):
            return Found(False, f"“{text}”")
    return Found(True, "none")


def _pairs_in_cue(track: Captions, at: int) -> Found | None:
    if not is_english(track.language):
        return None
    lines = track.cues[at].lines
    return _pairs([(upper[-1].text, lower[0].text) for upper, lower in pairwise(lines)])


def _pairs_across_cues(track: Captions, at: int) -> Found | None:
    """Says nothing of a cue that ends in a long pause: the speaker broke there."""
    if not is_english(track.language) or at + 1 == len(track.cues):
        return None
    before, after = track.cues[at].words[-1], track.cues[at + 1].words[0]
    if after.span.start_ms - before.span.end_ms >= PAUSE_BETWEEN_CUES_MS:
        return None
    return _pairs([(before.text, after.text)])


def _pairs(breaks: Sequence[tuple[str, str]]) -> Found:
    for left, right in breaks:
        if break_between(left, right) == "pair":
            return Found(False, f"“{left} | {right}”: {kept_together(left, right) or 'a sign of its own'}")
    return Found(True, "none")


def _no_shouting(track: Captions, at: int) -> Found:
    loud = [word.text for word in track.cues[at].words if sum(map(str.isalpha, word.text)) >= 4 and word.text.isupper()]
    return Found(not loud, ", ".join(loud) or "none")


RULES: tuple[Rule, ...] = (
    Rule("two-lines", "two lines at most", f"{_NETFLIX}; {_BBC}; {_DCMP}", True, _most_lines),
    Rule("42-characters", "42 characters a line at most", _NETFLIX, True, _line_characters(42)),
    Rule("37-characters", "37 characters a line at most", f"{_BBC} (teletext)", False, _line_characters(37)),
    Rule("32-characters", "32 characters a line at most", f"{_DCMP} (contract text)", False, _line_characters(32)),
    Rule("five-sixths", "5/6 s on screen at least", _NETFLIX, True, _at_least(Fraction(5, 6))),
    Rule("40-frames", "1.33 s (40 frames) at least", f"{_DCMP}, quoted", False, _at_least(Fraction(4, 3))),
    Rule("two-seconds", "2 s at least", f"{_DCMP} (older edition)", False, _at_least(Fraction(2))),
    Rule("0.3-s-a-word", "0.3 s a word at least", f"{_BBC} (from memory)", False, _seconds_a_word),
    Rule("seven-seconds", "7 s at most", _NETFLIX, True, _at_most(7)),
    Rule("six-seconds", "6 s at most", f"{_DCMP}, quoted", False, _at_most(6)),
    Rule(
        "20-a-second", "20 characters a second at most", f"{_NETFLIX}, English, adults", True, _characters_a_second(20)
    ),
    Rule(
        "17-a-second",
        "17 characters a second at most",
        f"{_NETFLIX}, English, children",
        False,
        _characters_a_second(17),
    ),
    Rule(
        "13-a-second",
        "13 characters a second at most",
        f"{_NETFLIX_TEMPLATE}, children",
        False,
        _characters_a_second(13),
    ),
    Rule("180-wpm", "180 words a minute at most", f"{_BBC}, quoted", False, _words_a_minute(180)),
    Rule("160-wpm", "160 words a minute at most", f"{_DCMP}, upper level (from memory)", False, _words_a_minute(160)),
    Rule("140-wpm", "140 words a minute at most", f"{_DCMP}, middle level (from memory)", False, _words_a_minute(140)),
    Rule("130-wpm", "130 words a minute at most", f"{_DCMP}, lower level", False, _words_a_minute(130)),
    Rule(
        "in-order",
        "begins when the one before is gone",
        "WebVTT (start times in order); common practice",
        True,
        _in_order,
    ),
    Rule("two-frames", "a gap of two frames at least", _NETFLIX, True, _gap_at_least_two),
    Rule(
        "no-short-gap",
        "a gap of two frames, or half a second and more",
        f"{_NETFLIX} (from memory)",
        True,
        _no_short_gap,
    ),
    Rule(
        "gap-of-a-second",
        "no gap, or one of a second and more",
        f"{_BBC}, 4.5 (from memory)",
        False,
        _gap_none_or_a_second,
    ),
    Rule("in-time", "begins within two frames of the speech, never before it", _NETFLIX, True, _in_time),
    Rule("not-early", "not more than 1.5 s ahead of the speech", f"{_BBC}, 5.2", True, _no_anticipation),
    Rule(
        "half-second-after",
        "gone half a second after the speech",
        f"{_NETFLIX_TEMPLATE}, 12 frames of 24",
        True,
        _hangs_half_second,
    ),
    Rule("1.5-s-after", "gone 1.5 s after the speech", f"{_BBC}, 5.2", True, _hangs_second_and_half),
    Rule(
        "whole-speech",
        "stays while its words are said",
        "FCC 47 CFR 79.1(j)(2), synchronous; the limit is ours",
        True,
        _stays_for_speech,
    ),
    Rule("no-long-pause", "no pause of a second inside", "ours: no words where nobody speaks", True, _no_long_pause),
    Rule("one-sentence", "one sentence a cue", f"{_BBC} (preferred), quoted", False, _one_sentence),
    Rule(
        "sentence-ends-line",
        "no sentence begins inside a line",
        f"{_DCMP}, line division",
        True,
        _no_sentence_end_in_line,
    ),
    Rule("pairs-in-cue", "no line break inside a pair", f"{_DCMP}, line division; {_NETFLIX}", True, _pairs_in_cue),
    Rule(
        "pairs-across-cues", "no new cue inside a pair", f"{_DCMP}, line division; {_NETFLIX}", True, _pairs_across_cues
    ),
    Rule(
        "no-shouting",
        "no word of four letters or more in capitals",
        f"{_DCMP}, capitals are for shouting",
        False,
        _no_shouting,
    ),
)
