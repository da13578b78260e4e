"""Hear a take: speech, words, and other sounds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib.metadata import version
from typing import Any, Protocol

from lessoncut import codec
from lessoncut.hearing.doubts import in_order, is_odd, words_of
from lessoncut.hearing.heights import frames_of
from lessoncut.hearing.listen import UNSURE, Heard, Listener
from lessoncut.hearing.model import find_model, load
from lessoncut.hearing.recognise import Recogniser
from lessoncut.hearing.records import HeardWord, Hearing, Sound
from lessoncut.hearing.second_look import (
    LONGEST_NOISE_MS,
    is_noise,
    is_voice,
    may_be_voice,
    missed_speech,
    with_looks,
    without_noisy_ends,
)
from lessoncut.hearing.speech import Speech, told_apart
from lessoncut.hearing.voice import Probabilities, voice_probabilities
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.take.levels import Levels
from lessoncut.take.samples import PER_MS, Samples
from lessoncut.times import Span, SpanIndex, without

LANGUAGE = "en"
"""Of a take in which nothing is said."""
UNLIKELY = 0.7
"""What the voice activity network is never as sure of may be a door or a cough: its words must speak for it."""
FEW_WORDS = 2
SURE = 0.75
VERY_SURE = 0.9
"""Few words less probable than this are looked at once more, where they are no longer than a noise."""
ONE_NOISE_MS = 100
"""Sounds with less between them are one cough, or one page: a part of it may have looked like speech."""
WHISPER_MS = 1000
"""A sound as long as this may be a whisper, which the voice activity network does not know."""
LOUD_VOICE_DB, LEAST_READ = 3.0, 0.1
"""How much louder than speech usually is a shorter sound must be that is looked at like a whisper, since it may be a
voice; and how sure the recogniser of its first word, and of all: of a cough's first word it is so by 0.08 at most."""


def forget(key: str, value: Any, end_ms: int) -> None:
    """For callers who keep nothing."""


class Settings(Protocol):
    """``model`` is a name or folder, ``language`` a code like "en"; None: find out. ``device``: auto, cpu, cuda."""

    @property
    def model(self) -> str | None: ...
    @property
    def language(self) -> str | None: ...
    @property
    def device(self) -> str: ...


def hear(
    samples: Samples,
    levels: Levels,
    settings: Settings,
    progress: Progress = no_progress,
    known: Mapping[str, Any] | None = None,
    keep: Callable[[str, Any, int], None] = forget,
) -> Hearing:
    """Everything heard in the take.

    ``keep`` gets each pack's name, its words as plain values, and where it ends in the take, as soon as it is heard; a
    later run that has the words by that name in ``known`` goes on from there. Raises ChoiceError, ToolError, and lets
    through what ``progress`` raises.
    """
    files = find_model(settings.model, settings.language)
    steps = shares(progress, (1, 9))
    speech = _speech(samples, levels, voice_probabilities(samples, steps[0]))
    recogniser = Recogniser(load(files, settings.device), settings.language)
    before = {key: codec.decode(Heard, words) for key, words in (known or {}).items()}
    listener = Listener(
        samples, levels, recogniser, before, lambda pack, words: keep(pack.key, codec.encode(words), pack.end_ms)
    )
    spans, sounds, words = _believed(samples, speech, listener.words(speech.spans, steps[1]), levels)
    whispers, said = unmarked(listener, samples, sounds, speech.speech_db)
    believed = SpanIndex(spans)
    return Hearing(
        duration_ms=len(samples) // PER_MS,
        language=recogniser.language or LANGUAGE,
        engine=f"faster-whisper {version('faster-whisper')}, {files.name}",
        speech=tuple(sorted([*spans, *whispers])),
        words=in_order([*words, *said]),
        sounds=tuple(noises(sound for sound in sounds if sound.span not in whispers)),
        floor_db=round(speech.floor_db, 1),
        speech_db=round(speech.speech_db, 1),
        breaks=tuple(pause for pause in speech.breaks if believed.meeting(pause)),
        breaths=speech.breaths,
        laughs=speech.laughs,
    )


def _speech(samples: Samples, levels: Levels, probabilities: Probabilities) -> Speech:
    """Speech and other sounds, after a second look at the latter."""
    speech = told_apart(samples, levels, probabilities)
    missed = missed_speech(samples, speech.sounds)
    return told_apart(samples, levels, with_looks(samples, missed, probabilities)) if missed else speech


def _believed(
    samples: Samples, speech: Speech, words: Heard, levels: Levels
) -> tuple[list[Span], list[Sound], list[HeardWord]]:
    """Speech and its words, and sounds with those added that only looked like speech."""
    spans: list[Span] = []
    sounds = list(speech.sounds)
    kept: list[HeardWord] = []
    for span, likely, own in zip(speech.spans, speech.likely, words_of(speech.spans, words), strict=True):
        voices: list[Span] = []
        if _is_believed(samples, span, likely, own):
            voices = [without_noisy_ends(samples, span, speech.breaks, own)]
            kept += own
        spans += voices
        for noise in without(span, voices):
            sounds.append(Sound(noise, float(levels.voice_db[frames_of(noise)].max())))
    return spans, sorted(sounds, key=lambda sound: sound.span), kept


def _is_believed(samples: Samples, span: Span, likely: float, own: Sequence[HeardWord]) -> bool:
    """Whether what looked like speech is some, by its ``own`` words and, where these tell little, by a second look."""
    few, probability = len(own) <= FEW_WORDS, _probability(own)
    if few and probability < VERY_SURE and span.length_ms <= LONGEST_NOISE_MS and is_noise(samples, span):
        return False
    return likely >= UNLIKELY or probability >= (SURE if few else UNSURE) or is_voice(samples, span)


def noises(sounds: Iterable[Sound]) -> list[Sound]:
    """The sounds in time order, those that are one noise joined; held sounds and laughter stay by themselves."""
    out: list[Sound] = []
    for sound in sorted(sounds, key=lambda each: each.span):
        last = out[-1] if out else None
        if last and last.may_be_speech and sound.may_be_speech and last.span.gap_to_ms(sound.span) < ONE_NOISE_MS:
            out[-1] = Sound(last.span.hull(sound.span), max(last.peak_db, sound.peak_db))
        else:
            out.append(sound)
    return out


def _probability(words: Sequence[HeardWord]) -> float:
    return sum(word.probability for word in words) / len(words) if words else 0.0


def unmarked(
    listener: Listener, samples: Samples, sounds: Sequence[Sound], speech_db: float
) -> tuple[list[Span], list[HeardWord]]:
    """Sounds in which words are heard after all: long ones, and loud ones that may be a voice."""
    free = [sound for sound in sounds if sound.may_be_speech]
    long = [sound.span for sound in free if sound.span.length_ms >= WHISPER_MS]
    short = [sound.span for sound in free if sound.span not in long and sound.peak_db >= speech_db + LOUD_VOICE_DB]
    short = [span for span in short if may_be_voice(samples, span)]
    spans = sorted([*long, *short])
    found: list[Span] = []
    said: list[HeardWord] = []
    for span, own in zip(spans, words_of(spans, listener.words(spans)), strict=True):
        if _is_whisper(span, own) if span in long else _is_read(own):
            found.append(span)
            said += own
    return found, said


def _is_whisper(span: Span, words: Sequence[HeardWord]) -> bool:
    return _probability(words) >= UNSURE and not is_odd(span, words)


def _is_read(words: Sequence[HeardWord]) -> bool:
    return bool(words) and min(words[0].probability, _probability(words)) >= LEAST_READ
