"""The whole study of a lesson's readings: rule, measurement, sounds, pace and melody put together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import accumulate, chain

import numpy as np

from lessoncut.hearing.pitch import Floats, median_hz, pitch, semitones
from lessoncut.matching.records import Match, Pass, Reading
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.script.records import Line, Script
from lessoncut.take.levels import Levels
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.teaching import melody, pace
from lessoncut.teaching.records import (
    Comparison,
    PassPace,
    ReadingStudy,
    ReadPhone,
    Remark,
    RuleLine,
    RuleWord,
    Study,
    Targets,
)
from lessoncut.teaching.sounds import targets
from lessoncut.teaching.stress_measured import prominence, remarks
from lessoncut.teaching.stress_rule import stress
from lessoncut.teaching.syllables import bare, is_vowel
from lessoncut.teaching.thought_groups import ends_of
from lessoncut.times import Span

OTHER_STRESS = 1.0
"""Difference of scores from which a word counts as read with another stress in the repeat."""
_CONSONANT_SHARE, _VOWEL_SHARE = 2, 3
"""How a word's time is shared out over its sounds where nobody aligned them."""


def study(
    script: Script,
    match: Match,
    samples: Samples,
    levels: Levels,
    *,
    phones: Mapping[str, Sequence[ReadPhone]] | None = None,
    sounds: str = "",
    commonness: Callable[[str], float] | None = None,
    language: str = "en",
    progress: Progress = no_progress,
) -> Study:
    """Every kept full reading, measured.

    ``phones`` are the aligned phones of a reading by its id, ``ReadPhone.word`` counting its spoken words; a reading
    without them has its words' times shared out. Raises ChoiceError where ``sounds`` names none.
    """
    english = language.split("-", maxsplit=1)[0].lower() in ("en", "")
    rules = stress(script.lines) if english else tuple(_unruled(line) for line in script.lines)
    by_id = {rule.line_id: rule for rule in rules}
    kept = [reading for reading in match.readings if reading.kept and reading.kind == "full"]
    voices = {
        reading.id: _voice(reading, samples, step)
        for reading, step in zip(kept, shares(progress, [1 + reading.span.length_ms for reading in kept]), strict=True)
    }
    middle = median_hz(np.concatenate([*voices.values(), np.zeros(0)]))
    kinds = {one.id: one for one in match.passes}
    aligned = phones or {}
    studied = tuple(
        _reading(by_id[reading.line_id], reading, kinds.get(reading.pass_id or ""), levels,
                 None if middle is None else semitones(voices[reading.id], middle), aligned.get(reading.id))
        for reading in kept
        if reading.line_id in by_id
    )  # fmt: skip
    passage = [by_id[line.id] for line in script.passage]
    named = targets(passage, sounds, commonness) if english and sounds.strip() else Targets((), (), (), (), ())
    comparisons = tuple(_comparisons(studied))
    return Study(
        language=language,
        lines=script.lines,
        rules=rules,
        readings=studied,
        passes=tuple(_pass_pace(one, studied) for one in match.passes),
        comparisons=comparisons,
        targets=named,
        remarks=tuple(chain(_stress_remarks(script, by_id, studied), _pass_remarks(by_id, comparisons))),
        median_hz=None if middle is None else round(middle, 1),
        unruled=None if english else _unruled_told(language),
        guessed=_guessed_told(kept, aligned) if english else None,
    )


def _voice(reading: Reading, samples: Samples, progress: Progress) -> Floats:
    voice = pitch(cut(samples, reading.span).astype(np.float64), RATE_HZ)
    progress(1.0)
    return voice


def _unruled_told(language: str) -> str:
    return (
        f"There is no pronouncing dictionary here for “{language}”: stress (but for what the script marks), target "
        "sounds, phonetic signs, linked words and syllables are left out."
    )


def _guessed_told(kept: Sequence[Reading], aligned: Mapping[str, Sequence[ReadPhone]]) -> str | None:
    missing = sum(reading.id not in aligned for reading in kept)
    if not missing:
        return None
    return f"In {missing} of {len(kept)} readings the times of single sounds are guessed from those of their words."


def _unruled(line: Line) -> RuleLine:
    """A line of a language without a dictionary: its words, and groups by punctuation."""
    words = line.tokens
    ends = sorted(ends_of(line.text, words))
    made = tuple(RuleWord(w.text, w.start, w.end, w.spoken, "", False, False, None, (), (), "") for w in words)
    starts = [0, *(end + 1 for end in ends[:-1])]
    return RuleLine(line.id, made, tuple(zip(starts, (end + 1 for end in ends), strict=True)) if made else ())


def _reading(
    rule: RuleLine,
    reading: Reading,
    within: Pass | None,
    levels: Levels,
    voice: Floats | None,
    aligned: Sequence[ReadPhone] | None,
) -> ReadingStudy:
    spans = _word_spans(rule, reading)
    phones = _by_token(rule, aligned) if aligned is not None else _shared_out(rule, spans)
    breaks = pace.pauses(spans)
    groups = pace.groups(len(rule.words), breaks)
    ends = frozenset(end - 1 for _, end in groups)
    read = prominence(phones, ends, levels, voice, reading.span.start_ms, timed=aligned is not None)
    syllables = pace.syllable_count(rule)
    rate, with_pauses = pace.rates(syllables, reading.span, breaks)
    line = None if voice is None else melody.contour(voice, reading.span.start_ms)
    strong = [spans[one.word] for one in read if one.strong and spans[one.word] is not None]
    tail = Span(strong[-1].start_ms, reading.span.end_ms) if strong and strong[-1] is not None else reading.span
    return ReadingStudy(
        reading_id=reading.id,
        line_id=reading.line_id,
        pass_id=reading.pass_id,
        pass_kind=within.kind if within else None,
        span=reading.span,
        word_spans=spans,
        syllables=syllables,
        rate=rate,
        rate_with_pauses=with_pauses,
        pauses=breaks,
        groups=groups,
        links=pace.links(rule, spans),
        weak=() if aligned is None else pace.weak_as_read(rule, phones, read),
        prominence=read,
        phones=phones,
        contour=line,
        tone=None if line is None else melody.tone(line, tail),
    )


def _word_spans(rule: RuleLine, reading: Reading) -> tuple[Span | None, ...]:
    """The time of each word of the line; a number's words are one. None where the reading has other words."""
    counts = [len(word.spoken) for word in rule.words]
    if sum(counts) != len(reading.words):
        return (None,) * len(counts)
    ends = list(accumulate(counts))
    return tuple(
        reading.words[end - count].span.hull(reading.words[end - 1].span)
        for count, end in zip(counts, ends, strict=True)
    )


def _by_token(rule: RuleLine, aligned: Sequence[ReadPhone]) -> tuple[ReadPhone, ...]:
    """Phones counted by spoken word, counted by word of the line instead."""
    owner = [number for number, word in enumerate(rule.words) for _ in word.spoken]
    return tuple(
        ReadPhone(bare(phone.label), phone.span, owner[phone.word]) for phone in aligned if phone.word < len(owner)
    )


def _shared_out(rule: RuleLine, spans: Sequence[Span | None]) -> tuple[ReadPhone, ...]:
    """A word's time shared out over its sounds, vowels a little longer than consonants."""
    made: list[ReadPhone] = []
    for number, (word, span) in enumerate(zip(rule.words, spans, strict=True)):
        if span is None or not word.sounds:
            continue
        shares = [_VOWEL_SHARE if is_vowel(phone) else _CONSONANT_SHARE for phone in word.sounds]
        ends = [span.start_ms + span.length_ms * upto // sum(shares) for upto in accumulate(shares)]
        starts = [span.start_ms, *ends[:-1]]
        made += [
            ReadPhone(bare(phone), Span(start, end), number)
            for phone, start, end in zip(word.sounds, starts, ends, strict=True)
        ]
    return tuple(made)


def _pass_pace(one: Pass, studied: Sequence[ReadingStudy]) -> PassPace:
    own = [reading for reading in studied if reading.pass_id == one.id]
    syllables = sum(reading.syllables for reading in own)
    total_s = sum(reading.span.length_ms for reading in own) / 1000
    breaks = [pause for reading in own for pause in reading.pauses]
    spoken_s = total_s - sum(pause.span.length_ms for pause in breaks) / 1000
    counts = {kind: sum(pause.kind == kind for pause in breaks) for kind in ("brief", "medium", "long")}
    return PassPace(
        one.id,
        one.kind,
        syllables,
        round(syllables / spoken_s, 2) if spoken_s > 0 else 0.0,
        round(syllables / total_s, 2) if total_s > 0 else 0.0,
        counts["brief"],
        counts["medium"],
        counts["long"],
    )


def _comparisons(studied: Sequence[ReadingStudy]) -> Iterator[Comparison]:
    models = {reading.line_id: reading for reading in studied if reading.pass_kind == "model"}
    for repeat in studied:
        model = models.get(repeat.line_id)
        if repeat.pass_kind != "repeat" or repeat.pass_id is None or model is None or not repeat.rate:
            continue
        first = {one.word: one for one in model.prominence}
        other = tuple(
            one.word
            for one in repeat.prominence
            if one.word in first
            and one.strong != first[one.word].strong
            and abs(one.score - first[one.word].score) > OTHER_STRESS
        )
        yield Comparison(
            repeat.line_id, repeat.pass_id, round(model.rate / repeat.rate, 2), other, _other_melody(model, repeat)
        )


def _other_melody(model: ReadingStudy, repeat: ReadingStudy) -> bool:
    if model.contour is None or repeat.contour is None:
        return False
    both = [(a, b) for a, b in zip(model.word_spans, repeat.word_spans, strict=True) if a is not None and b is not None]
    apart = melody.distance_st(model.contour, repeat.contour, [a for a, _ in both], [b for _, b in both])
    tones = {model.tone, repeat.tone} == {"rise", "fall"}
    return tones or (apart is not None and apart > melody.DIFFERENT_ST)


def _stress_remarks(script: Script, by_id: Mapping[str, RuleLine], studied: Sequence[ReadingStudy]) -> Iterator[Remark]:
    lines = {line.id: line for line in script.lines}
    for reading in studied:
        yield from remarks(lines[reading.line_id], by_id[reading.line_id], reading.pass_id, reading.prominence)


def _pass_remarks(by_id: Mapping[str, RuleLine], comparisons: Sequence[Comparison]) -> Iterator[Remark]:
    for one in comparisons:
        words = by_id[one.line_id].words
        for word in one.other_stress:
            says = f"“{words[word].text}” has another stress in the repeat than in the model reading"
            yield Remark(one.line_id, one.pass_id, word, says, (f"scores differ by more than {OTHER_STRESS}",))
        if one.other_melody:
            says = "the repeat has another melody than the model reading"
            facts = (f"the last movement turns, or pitch lies {melody.DIFFERENT_ST:.0f} semitones apart on average",)
            yield Remark(one.line_id, one.pass_id, None, says, facts)
