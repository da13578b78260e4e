"""A start that the voice activity network took for a noise."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.noises import starts_among_noises
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding
from tests.matching.test_settle import PLAIN, attempts
from tests.matching.test_speakers import Colour

HEARD = PLAIN.replace("    6.5  we have", "    6.02  (a noise)  6.3\n    6.8  we have")
SAID = HEARD.replace("(a noise)", "we")


def one_voice(_: Span) -> Colour:
    return Colour(0.0)


def a_noise(span: Span) -> Colour:
    return Colour(3.0 if span.length_ms < 500 else 0.0)


@pytest.mark.parametrize(
    ("said", "voice_of", "is_start"),
    [(SAID, one_voice, True), (SAID, a_noise, False), (SAID.replace("  we  ", "  shoe  "), one_voice, False)],
)
def test_a_sound_in_her_voice_with_the_next_lines_first_words_on_it_is_a_start(
    said: str, voice_of: Callable[[Span], Colour], is_start: bool
) -> None:
    settled = settle(script(FERRY), told(HEARD), sounding(said), voice_of)
    assert ((3, False, 6020) in attempts(settled)) == is_start
    assert len(settled.attempts) == (6 if is_start else 5)


@pytest.mark.parametrize(("heard", "is_start"), [((), True), ((0.4,), True), ((0.9,), False), ((0.4, 0.4), False)])
def test_speech_that_gave_one_unsure_word_at_most_is_no_better_than_a_noise(
    heard: tuple[float, ...], is_start: bool
) -> None:
    place = Span(6020, 6300)
    lines = settle(script(FERRY), told(PLAIN), sounding(PLAIN)).attempts
    ground = Ground(script(FERRY), told(PLAIN), sounding(SAID))
    left = [Unscripted(place, tuple(HeardWord("when", place, probability) for probability in heard))]
    found = starts_among_noises(ground, lines, left, one_voice)
    assert [(start.line, start.upto, start.full) for start in found] == ([(3, 1, False)] if is_start else [])
