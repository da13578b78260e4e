"""Long lines are split at thought groups.

The pairs that stay together are those of the DCMP Captioning Key ("Line division") and of Netflix's Timed Text Style
Guide ("Line treatment"); their own tests stand with ``phrasing``.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut import wording
from lessoncut.lesson.groups import LEAST_SYLLABLES, LEAST_WORDS, GroupWord, parts_of
from lessoncut.lesson.pacing import LEVELS, Pacing
from lessoncut.phrasing import break_between
from lessoncut.times import Span

SYLLABLE_MS = 200


def words_of(text: str) -> list[GroupWord]:
    """``/`` is a pause of 300 ms, ``//`` one of 500; every syllable lasts 200 ms."""
    words: list[GroupWord] = []
    at_ms = 0
    for part in text.split():
        if part.strip("/") == "":
            at_ms += {1: 300, 2: 500}[len(part)]
            continue
        syllables = sum(wording.syllables(word) for word in wording.spoken(part))
        words.append(GroupWord(part, Span(at_ms, at_ms + syllables * SYLLABLE_MS), syllables))
        at_ms += syllables * SYLLABLE_MS
    return words


def split(text: str, level: str, language: str = "en", **options: object) -> list[str]:
    words = words_of(text)
    parts = parts_of(words, Pacing(level, **options), language)  # type: ignore[arg-type]
    return [" ".join(word.text for word in words[first:last]) for first, last in parts]


@pytest.mark.parametrize(
    ("text", "level", "parts"),
    [
        # Short enough for the level: one piece, pause or no pause.
        ("Vic sells very // fine wool.", "A1", ["Vic sells very fine wool."]),
        # 10 syllables: over A1's soft bound, so the comma is taken; not over A2's.
        ("The wind is wild today, and the van is slow.", "A1", ["The wind is wild today,", "and the van is slow."]),
        ("The wind is wild, and the van is slow.", "A2", ["The wind is wild, and the van is slow."]),
        # The reading's own pause comes before punctuation.
        (
            "The wind is wild, and the old // red van is slow.",
            "A1",
            ["The wind is wild, and the old", "red van is slow."],
        ),
        # The longest pause comes first.
        (
            "We wait for the van // by the water / and watch the river.",
            "B1",
            ["We wait for the van", "by the water and watch the river."],
        ),
        # A pause inside a pair that stays together is no place.
        ("Every winter the // van is slow, and we go.", "A1", ["Every winter the van is slow, and we go."]),
        # Soft only: no punctuation and no pause, so it stays.
        ("We wait for the van by the water.", "A1", ["We wait for the van by the water."]),
        # Hard: a conjunction or a preposition will do.
        (
            "We wait for the yellow van by the water every day.",
            "A1",
            ["We wait for the yellow van", "by the water every day."],
        ),
        # Too long in two halves as well: split again.
        (
            "Every winter we wait, every summer we swim, every evening we walk, every morning we wake.",
            "A1",
            ["Every winter we wait,", "every summer we swim,", "every evening we walk,", "every morning we wake."],
        ),
    ],
)
def test_where_a_line_is_split(text: str, level: str, parts: list[str]) -> None:
    assert split(text, level) == parts


def test_a_part_has_two_words_and_four_syllables() -> None:
    assert split("Yes, it is very // warm, we have never been so warm.", "A1")[0] != "Yes,"
    assert split("Unbelievable, everything everywhere was wonderful.", "A1") == [
        "Unbelievable, everything everywhere was wonderful."
    ]


def test_no_conjunctions_are_known_in_another_language() -> None:
    text = "Wir warten am Wasser und warten auf den gelben Wagen von Werner Wagner."
    assert split(text, "A1", "de", most_ms=60_000) == [text]


def test_what_the_most_cuts_short_is_split_even_between_plain_words() -> None:
    text = "Wir warten am Wasser und warten auf den gelben Wagen von Werner Wagner."
    assert len(split(text, "A1", "de")) > 1


TEXTS = """the a van river waits slowly and, by with; water's wide! window very Mr. Wood not / //"""


@settings(max_examples=150)
@given(
    st.lists(st.sampled_from(TEXTS.split()), max_size=40),
    st.sampled_from(list(LEVELS)),
)
def test_the_parts_are_the_line_and_each_is_fit_to_say(texts: list[str], level: str) -> None:
    words = words_of(" ".join(texts))
    parts = parts_of(words, Pacing(level))
    assert [at for first, last in parts for at in range(first, last)] == list(range(len(words)))
    if len(parts) > 1:
        for first, last in parts:
            assert last - first >= LEAST_WORDS
            assert sum(word.syllables for word in words[first:last]) >= LEAST_SYLLABLES
        for first, _ in parts[1:]:
            assert break_between(words[first - 1].text, words[first].text) != "pair"
