"""A start that the voice activity network took for a noise."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lessoncut.hearing.told import told
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


@pytest.mark.parametrize(("word", "is_start"), [("~when", True), ("sorry", False)])
def test_a_word_that_was_not_sure_is_no_better_than_a_noise(word: str, is_start: bool) -> None:
    settled = settle(script(FERRY), told(HEARD.replace("(a noise)", word)), sounding(SAID), one_voice)
    assert ((3, False, 6020) in attempts(settled)) == is_start
    assert len(settled.unscripted) == (0 if is_start else 1)
