"""Sentence stress as it was read.

Loudness and length of the stressed vowel mark a word most, pitch less (Kochanski, Grabe, Coleman and Rosner 2005, JASA
118: loudness and duration predict prominence, pitch plays a minor part). All three are relative to the same reading, so
that microphone, voice and pace drop out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing.pitch import HOP_MS as PITCH_HOP_MS
from lessoncut.hearing.pitch import Floats
from lessoncut.script.records import Line
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.teaching.records import Prominence, ReadPhone, Remark, RuleLine, RuleWord
from lessoncut.teaching.syllables import bare, is_vowel
from lessoncut.times import Span

LOUDNESS_WEIGHT, DURATION_WEIGHT, PITCH_WEIGHT = 0.45, 0.40, 0.15
STRONG = 0.15
"""Score from which a word counts as read strong."""
SURE = 0.4
"""How far from that line a score has to lie before a disagreement is worth a remark."""
STRIKING = 0.9
"""The same for a word that nobody marked: readers lift many words a little."""
FINAL_LENGTHENING = 1.4
"""The last vowel before a boundary is longer, stressed or not (design value; the direction is common knowledge)."""
FALL_SHARE, LEAST_OF_A_FALL = 0.5, 8
"""How much of a fall in loudness is taken for breath, and how many vowels tell of one (design values)."""
_SHORT, _LONG, _GLIDING = 75.0, 105.0, 135.0
_VOWEL_MS = {
    **dict.fromkeys(["AH", "IH", "EH", "UH"], _SHORT),
    **dict.fromkeys(["AA", "AE", "AO", "ER", "IY", "UW"], _LONG),
    **dict.fromkeys(["AY", "AW", "EY", "OW", "OY"], _GLIDING),
}
"""Usual lengths by class of vowel; only their proportions matter (design values, order as in Klatt 1976)."""


@dataclass(frozen=True)
class _Vowel:
    word: int
    phone: ReadPhone
    loudness_db: float
    length: float
    """Log of the length over what is usual for this vowel in this place."""
    rise_st: float | None
    movement_st: float | None


def prominence(
    phones: Sequence[ReadPhone],
    group_ends: frozenset[int],
    levels: Levels,
    contour: Floats | None,
    start_ms: int,
    *,
    timed: bool = True,
) -> tuple[Prominence, ...]:
    """How strong each word of one reading was, in order; words without a vowel or a time are left out.

    ``group_ends`` are the last words before a pause or the end. ``contour`` is in semitones from ``start_ms`` on.
    Without ``timed`` the phones are no more than a guess at where the vowels lie, and their length says nothing.
    """
    vowels = [_vowel(phone, phones, group_ends, levels, contour, start_ms) for phone in phones if is_vowel(phone.label)]
    if len(vowels) < 3:
        return ()
    loudness = _standard(_risen(vowels))
    length = _standard([vowel.length if timed else 0.0 for vowel in vowels])
    rise = _standard([0.0 if vowel.rise_st is None else vowel.rise_st for vowel in vowels])
    score = LOUDNESS_WEIGHT * loudness + DURATION_WEIGHT * length + PITCH_WEIGHT * rise
    strongest: dict[int, int] = {}
    for place, vowel in enumerate(vowels):
        if vowel.word not in strongest or score[place] > score[strongest[vowel.word]]:
            strongest[vowel.word] = place
    return tuple(
        Prominence(
            word, round(float(loudness[at]), 2), round(float(length[at]), 2), vowels[at].movement_st,
            round(float(score[at]), 2), bool(score[at] >= STRONG),
        )
        for word, at in sorted(strongest.items())
    )  # fmt: skip


def is_marked(line: Line, word: RuleWord) -> bool:
    """Whether one of the teacher's stress marks covers the word, or part of it."""
    return any(mark.kind == "stress" and mark.start < word.end and word.start < mark.end for mark in line.marks)


def strong_words(line: Line, rule: RuleLine) -> frozenset[int]:
    """The words to show as stressed: the teacher's where she marked any in this line, or else the rule's."""
    has_marks = any(mark.kind == "stress" for mark in line.marks)
    return frozenset(
        number for number, word in enumerate(rule.words) if (is_marked(line, word) if has_marks else word.stressed)
    )


def remarks(line: Line, rule: RuleLine, pass_id: str | None, read: Sequence[Prominence]) -> tuple[Remark, ...]:
    """Where mark, rule and reading disagree clearly: by loudness and by length. Marks, where a line has any, stand for
    the rule.
    """
    has_marks = any(mark.kind == "stress" for mark in line.marks)
    found = []
    for one in read:
        word = rule.words[one.word]
        marked = is_marked(line, word)
        weak = one.score < STRONG - SURE and max(one.loudness, one.duration) <= 0
        striking = one.score > STRONG + STRIKING and min(one.loudness, one.duration) >= 0
        if has_marks and marked and weak:
            says = f"“{word.text}” is marked, but read weak"
        elif not has_marks and word.nucleus and weak:
            says = f"the rule puts the focus on “{word.text}”, but it is read weak"
        elif not marked and not word.stressed and striking:
            asks = "no mark asks" if has_marks else "the rule does not ask"
            says = f"“{word.text}” is read strong, though {asks} for it"
        else:
            continue
        found.append(Remark(line.id, pass_id, one.word, says, _evidence(one)))
    return tuple(found)


def _evidence(one: Prominence) -> tuple[str, ...]:
    def compared(value: float, more: str, less: str) -> str:
        return f"vowel {abs(value):.1f} standard deviations {more if value > 0 else less} than the line's middle"

    facts = [compared(one.loudness, "louder", "quieter")]
    if one.duration:
        facts.append(compared(one.duration, "longer", "shorter"))
    if one.movement_st is not None:
        facts.append(f"pitch moves {one.movement_st:.1f} semitones in it")
    return tuple(facts)


def _vowel(
    phone: ReadPhone,
    phones: Sequence[ReadPhone],
    group_ends: frozenset[int],
    levels: Levels,
    contour: Floats | None,
    start_ms: int,
) -> _Vowel:
    last_of_group = phone.word in group_ends and not any(
        other.word == phone.word and other.span > phone.span and is_vowel(other.label) for other in phones
    )
    usual_ms = _VOWEL_MS[bare(phone.label)] * (FINAL_LENGTHENING if last_of_group else 1.0)
    length = float(np.log(max(phone.span.length_ms, HOP_MS) / usual_ms))
    rise, movement = _pitch(phone.span, contour, start_ms)
    return _Vowel(phone.word, phone, _loudness_db(phone.span, levels), length, rise, movement)


def _loudness_db(span: Span, levels: Levels) -> float:
    """The loudest 30 ms of the vowel."""
    first = max(0, span.start_ms // HOP_MS)
    frames = levels.voice_db[first : max(first + 1, -(-span.end_ms // HOP_MS))]
    if not len(frames):
        return -120.0
    power = 10 ** (frames.astype(np.float64) / 10)
    window = min(3, len(power))
    return float(10 * np.log10(np.convolve(power, np.ones(window) / window, "valid").max()))


def _pitch(span: Span, contour: Floats | None, start_ms: int) -> tuple[float | None, float | None]:
    """How far the vowel's peak rises over the reading's falling line, and how far pitch moves in it; semitones."""
    if contour is None:
        return None, None
    voiced = np.flatnonzero(np.isfinite(contour))
    first, last = ((at - start_ms) // PITCH_HOP_MS for at in (span.start_ms, span.end_ms))
    inside = voiced[(voiced >= first) & (voiced < max(last, first + 1))]
    if len(inside) < 2 or len(voiced) < 5:
        return None, None
    slope, height = np.polyfit(voiced, contour[voiced], 1)
    over = contour[inside] - (height + slope * inside)
    return float(over.max()), round(float(np.ptp(contour[inside])), 1)


def _risen(vowels: Sequence[_Vowel]) -> NDArray[np.float64]:
    """How loud each vowel is over a part of the reading's own fall, in dB.

    A voice grows quieter towards the end of its breath, which makes no last word weak; but a short line falls by what
    is stressed in it, too, and so does not count in full.
    """
    loud = np.array([vowel.loudness_db for vowel in vowels])
    if len(loud) < LEAST_OF_A_FALL:
        return loud
    at_s = np.array([vowel.phone.span.start_ms for vowel in vowels]) / 1000
    slope = float(np.polyfit(at_s, loud, 1)[0]) if np.ptp(at_s) > 0 else 0.0
    return loud - FALL_SHARE * min(0.0, slope) * at_s


def _standard(values: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard scores around the median."""
    row = np.asarray(values, dtype=np.float64)
    spread = float(row.std())
    return (row - np.median(row)) / spread if spread > 1e-9 else np.zeros_like(row)
