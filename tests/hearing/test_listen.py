"""The listener with a made recogniser that knows what is said at every place of the take."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lessoncut.errors import Cancelled
from lessoncut.hearing.listen import Heard, Listener
from lessoncut.hearing.packs import Pack
from lessoncut.hearing.recognise import Sound, SpokenWord, Utterance
from lessoncut.hearing.records import Hearing
from lessoncut.hearing.told import told
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.take.samples import PER_MS, Samples
from lessoncut.times import Span

TAKE = """
     1.0  the river is wide and cold   3.0
     5.0  we cross it by boat          6.6
    20.0  nobody knows how deep it is  22.0
"""
Mishearing = Callable[[tuple[SpokenWord, ...], int], tuple[SpokenWord, ...]]
"""What is said in a sound, and how many sounds were heard before; what is heard."""


def _place_samples(duration_ms: int) -> Samples:
    """A take whose samples say at which millisecond they stand, for the made recogniser to read."""
    return np.repeat(np.arange(duration_ms, dtype=np.int16), PER_MS)


class _Knowing:
    """Reads off the samples where in the take a sound comes from, and says what is told there."""

    language = "en"

    def __init__(self, truth: Hearing, mishearing: Mishearing = lambda said, _: said) -> None:
        self._truth = truth
        self._mishearing = mishearing
        self.lengths_ms: list[int] = []

    def hear(self, sounds: Sequence[Sound], beam: int) -> tuple[Utterance, ...]:
        assert beam >= 1
        return tuple(self._one(sound) for sound in sounds)

    def _one(self, sound: Sound) -> Utterance:
        place = np.round(sound[PER_MS // 2 :: PER_MS] * 32768).astype(int)
        place[~np.isin(np.gradient(place), (0.5, 1.0))] = -1  # a joint with its fades
        said = []
        for word in self._truth.words:
            inside = np.flatnonzero(np.abs(place - word.span.middle_ms) <= 1)
            if len(inside):
                start = int(inside[0]) - word.span.length_ms // 2
                span = Span(max(0, start), max(0, start) + word.span.length_ms)
                said.append(SpokenWord(word.text, span, word.probability))
        heard = self._mishearing(tuple(said), len(self.lengths_ms))
        self.lengths_ms.append(len(place))
        return heard


def _listener(
    truth: Hearing, recogniser: _Knowing, known: dict[str, Heard] | None = None
) -> tuple[Listener, dict[str, Heard]]:
    flat = np.full(truth.duration_ms // HOP_MS, -30, np.float32)
    kept: dict[str, Heard] = {}
    samples = _place_samples(truth.duration_ms)

    def keep(pack: Pack, words: Heard) -> None:
        kept[pack.key] = words

    return Listener(samples, Levels(flat, flat), recogniser, known, keep), kept


def _texts(words: Heard) -> list[str]:
    return [word.text for word in words]


def test_everything_is_heard_once_in_one_pack_and_put_back_in_its_place() -> None:
    truth = told(TAKE)
    recogniser = _Knowing(truth)
    words = _listener(truth, recogniser)[0].words(truth.speech)
    assert recogniser.lengths_ms == [2600 + 2200 + 2600]
    assert _texts(words) == _texts(truth.words)
    for heard, said in zip(words, truth.words, strict=True):
        assert heard.span.start_ms == pytest.approx(said.span.start_ms, abs=20)
        assert heard.voiced == 1.0


def test_a_stretch_left_without_words_is_heard_again() -> None:
    truth = told(TAKE)

    def deaf_at_first(said: tuple[SpokenWord, ...], before: int) -> tuple[SpokenWord, ...]:
        return said[:6] + said[11:] if not before else said

    recogniser = _Knowing(truth, deaf_at_first)
    words = _listener(truth, recogniser)[0].words(truth.speech)
    assert _texts(words) == _texts(truth.words)
    assert recogniser.lengths_ms[1:] == [2200]


def test_a_second_reading_swallowed_in_one_long_word_is_brought_out() -> None:
    truth = told("""
         1.0  the river is wide  2.6
         3.2  the river is wide  4.8
    """)

    def swallowing(said: tuple[SpokenWord, ...], before: int) -> tuple[SpokenWord, ...]:
        if before:
            return said
        return (*said[:3], SpokenWord("wide", Span(said[3].span.start_ms, said[-1].span.end_ms), 0.9))

    words = _listener(truth, _Knowing(truth, swallowing))[0].words(truth.speech)
    assert _texts(words) == ["the", "river", "is", "wide"] * 2


def test_what_was_swallowed_in_the_middle_of_long_speech_is_brought_out() -> None:
    """As in a room so live that no pause parts the sentences."""
    row = " ".join(f"{at}.0  word{chr(97 + at)}  {at}.9 " for at in range(1, 19)) + "\n"
    truth = told(row)
    truth = replace(truth, speech=(Span(1000, 18_900),))

    def swallow(said: tuple[SpokenWord, ...], _: int) -> tuple[SpokenWord, ...]:
        return said if len(said) < 9 else (*said[:6], *said[12:])

    listener, _ = _listener(truth, _Knowing(truth, swallow))
    assert [word.text for word in listener.words(truth.speech)] == [word.text for word in truth.words]


def test_a_loop_gives_way_to_a_better_hearing() -> None:
    truth = told("1.0  every wednesday somebody reads a story  3.6")

    def looping(said: tuple[SpokenWord, ...], before: int) -> tuple[SpokenWord, ...]:
        if before:
            return said
        return tuple(SpokenWord("saturday", Span(300 + 100 * at, 400 + 100 * at), 0.9) for at in range(26))

    words = _listener(truth, _Knowing(truth, looping))[0].words(truth.speech)
    assert _texts(words) == _texts(truth.words)


def test_text_invented_in_a_pause_goes_when_a_second_hearing_lacks_it_and_stays_unvoiced_when_not() -> None:
    truth = told(TAKE)
    for times, left in ((1, False), (9, True)):

        def inventing(said: tuple[SpokenWord, ...], before: int, times: int = times) -> tuple[SpokenWord, ...]:
            if before >= times or not said:
                return said
            at_ms = said[-1].span.end_ms + 150
            return (*said, SpokenWord("thanks", Span(at_ms, at_ms + 140), 0.9))

        words = _listener(truth, _Knowing(truth, inventing))[0].words(truth.speech)
        assert [word.voiced for word in words if word.text == "thanks"] == [0.0] * left


def test_what_was_heard_before_is_not_heard_again() -> None:
    truth = told(TAKE)
    listener, kept = _listener(truth, _Knowing(truth))
    words = listener.words(truth.speech)
    recogniser = _Knowing(truth)
    assert _listener(truth, recogniser, kept)[0].words(truth.speech) == words
    assert recogniser.lengths_ms == []


def test_a_stop_keeps_what_was_heard_until_then() -> None:
    truth = told("\n".join(f"{at}.0  the river is wide  {at}.9" for at in range(1, 30, 2)))

    def stop(done: float) -> None:
        raise Cancelled(f"stopped at {done:.0%}")

    recogniser = _Knowing(truth)
    listener, kept = _listener(truth, recogniser)
    with pytest.raises(Cancelled):
        listener.words(truth.speech, stop)
    assert len(kept) == len(recogniser.lengths_ms) > 1
    assert sum(map(len, kept.values())) == len(truth.words)


def test_progress_never_goes_back_and_ends_at_one() -> None:
    truth = told(TAKE)
    told_to: list[float] = []
    _listener(truth, _Knowing(truth))[0].words(truth.speech, told_to.append)
    assert all(a <= b for a, b in pairwise(told_to))
    assert told_to[-1] == 1.0


def test_no_speech_has_no_words() -> None:
    truth = told(TAKE)
    assert _listener(truth, _Knowing(truth))[0].words(()) == ()
