"""A noise that was heard as a word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord, Sound
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.matching.worded_noises import (
    APART_MS,
    INTO_SOUND_MS,
    LOWER,
    LOWER_RUNNING_ON,
    LOWER_START,
    MOST_MS,
    NOT_HERS,
    NOT_THEIRS,
    UNSURE,
    without_starts_in_noises,
    without_words_in_noises,
)
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import CLEAR, scoring, sounding
from tests.matching.test_settle import PLAIN
from tests.matching.test_speakers import Colour

KNOCK, TALK = Span(20_000, 20_700), Span(25_000, 26_000)
LOW, HIGH = CLEAR - LOWER - 1, CLEAR - LOWER + 1


def talk(span: Span, *words: str) -> Unscripted:
    return Unscripted(span, tuple(HeardWord(word, span, 0.9) for word in words))


@pytest.mark.parametrize(
    ("noise", "score", "colour", "other", "words"),
    [
        (talk(KNOCK, "think"), LOW, NOT_HERS + 0.1, 0.0, ()),
        (talk(KNOCK, "so", "think"), LOW, NOT_HERS + 0.1, 0.0, ()),
        (talk(KNOCK, "think"), HIGH, NOT_HERS + 0.1, 0.0, ("think",)),
        (talk(KNOCK, "think"), LOW, NOT_HERS - 0.1, 0.0, ("think",)),
        (talk(KNOCK, "think"), LOW, NOT_HERS + 0.1, NOT_HERS + 0.1 + NOT_THEIRS + 0.1, ()),
        (talk(KNOCK, "think"), LOW, NOT_HERS + 0.1, NOT_HERS + 0.1 + NOT_THEIRS - 0.1, ("think",)),  # somebody else's
        (talk(KNOCK, "so", "I", "think"), LOW, NOT_HERS + 0.1, 0.0, ("so", "I", "think")),
        (talk(Span(20_000, 20_001 + MOST_MS), "think"), LOW, NOT_HERS + 0.1, 0.0, ("think",)),
    ],
)
def test_a_word_that_does_not_fit_a_sound_in_nobodys_voice_was_not_said(
    noise: Unscripted, score: float, colour: float, other: float, words: tuple[str, ...]
) -> None:
    """``colour``: how far the sound is from her voice, that of every reading; ``other``: how far the other talk is."""

    def voice_of(span: Span) -> Colour:
        return Colour(colour if span == noise.span else other if span == TALK else 0.0)

    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    ground = Ground(
        script(FERRY),
        told(PLAIN),
        scoring(lambda _, word: score if word in ("so", "i", "think") else CLEAR),
        voice_of=voice_of,
        usual_score=CLEAR,
    )
    left = [noise, talk(TALK, "well", "then")]
    found = without_words_in_noises(ground, lines, left)
    assert [tuple(word.text for word in each.words) for each in found] == [words, ("well", "then")]
    assert [each.span for each in found] == [noise.span, TALK]


@pytest.mark.parametrize(
    ("sure", "pause_ms", "colour", "parts"),
    [
        (UNSURE - 0.1, APART_MS, NOT_HERS, ["my tea is cold", ""]),
        (UNSURE, APART_MS, NOT_HERS, ["my tea is cold can"]),
        (UNSURE - 0.1, APART_MS - 20, NOT_HERS, ["my tea is cold can"]),
        (UNSURE - 0.1, APART_MS, NOT_HERS - 0.1, ["my tea is cold can"]),
    ],
)
@pytest.mark.parametrize("first", [False, True])
def test_an_unsure_word_behind_a_pause_in_talk_may_be_a_cough(
    sure: float, pause_ms: int, colour: float, parts: list[str], first: bool
) -> None:
    """Or before one; where it is neither in her voice nor near."""
    own, cough = ("18.0  my tea is cold  20.0", f"{20 + pause_ms / 1000}  can  {20.5 + pause_ms / 1000}")
    if first:
        own, cough = (f"{18.5 + pause_ms / 1000}  my tea is cold  21.0", "18.0  can  18.5")
    hearing = told(f"{PLAIN}\n" + "\n".join(sorted((own, cough))))
    words = [word for word in hearing.words if word.span.start_ms >= 18_000]
    words = [replace(word, probability=sure) if word.text == "can" else word for word in words]
    place = words[0].span.hull(words[-1].span)
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    ground = Ground(
        script(FERRY),
        hearing,
        scoring(lambda *_: CLEAR),
        voice_of=lambda span: Colour(colour if 400 < span.length_ms < 600 and place.contains(span.middle_ms) else 0.0),
        usual_score=CLEAR,
    )
    found = without_words_in_noises(ground, lines, [Unscripted(place, tuple(words))])
    told_of = [sorted(word.text for word in talk.words) for talk in found]
    assert told_of == [sorted(part.split()) for part in (parts[::-1] if first else parts)]


@pytest.mark.parametrize(
    ("word", "gap_ms", "held", "believed"),
    [
        ("the", 0, False, False),
        ("the", INTO_SOUND_MS, False, True),
        ("the", 0, True, True),  # who holds a sound speaks
        ("think", 0, False, True),
    ],
)
def test_a_small_word_that_runs_on_into_a_noise_need_not_lie_so_badly(
    word: str, gap_ms: int, held: bool, believed: bool
) -> None:
    def voice_of(span: Span) -> Colour:
        return Colour(NOT_HERS + 0.1 if span == KNOCK else 0.0)

    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    rest = Sound(Span(KNOCK.end_ms + gap_ms, KNOCK.end_ms + 200), -20.0, held=held)
    ground = Ground(
        script(FERRY),
        replace(told(PLAIN), sounds=(rest,)),
        scoring(lambda _, text: CLEAR - LOWER_RUNNING_ON - 1 if text == word else CLEAR),
        voice_of=voice_of,
        usual_score=CLEAR,
    )
    (found,) = without_words_in_noises(ground, lines, [talk(KNOCK, word)])
    assert bool(found.words) is believed


def test_where_nobody_can_tell_voices_apart_words_are_believed() -> None:
    ground = Ground(script(FERRY), told(PLAIN), scoring(lambda *_: LOW), usual_score=CLEAR)
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    left = [talk(KNOCK, "think")]
    assert without_words_in_noises(ground, lines, left) == left
    assert without_words_in_noises(replace(ground, voice_of=lambda _: Colour(0.0)), lines, left) == left


@pytest.mark.parametrize(
    ("score", "colour", "is_start"),
    [
        (CLEAR - LOWER_START - 1, NOT_HERS, False),
        (CLEAR - LOWER_START + 1, NOT_HERS, True),
        (CLEAR - LOWER_START - 1, NOT_HERS - 0.1, True),
    ],
)
def test_a_start_that_does_not_fit_a_sound_in_nobodys_voice_is_no_start(
    score: float, colour: float, is_start: bool
) -> None:
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts)
    words = (ReadWord("the", KNOCK, None),)
    start = Attempt(0, False, 1, words, talk(KNOCK, "the").words, 1.0, laid=True, score=score)

    def voice_of(span: Span) -> Colour:
        return Colour(colour if span == KNOCK else 0.0)

    ground = Ground(script(FERRY), told(PLAIN), scoring(lambda *_: CLEAR), voice_of=voice_of, usual_score=CLEAR)
    attempts, left = without_starts_in_noises(ground, [*lines, start], [talk(TALK, "well")])
    assert attempts == ([*lines, start] if is_start else lines)
    assert [each.span for each in left] == ([TALK] if is_start else [KNOCK, TALK])
