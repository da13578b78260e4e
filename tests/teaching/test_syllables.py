from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.teaching.syllables import in_letters, ipa, letters_of, phone_syllables
from lessoncut.wording import phones

COMMON = ["people", "business", "beautiful", "language", "question", "through", "use", "choir", "one", "o'clock", "box"]


def _split(word: str) -> str:
    parts = in_letters(word, phones(word)[0])
    return "-".join(word[p.start : p.end].upper() if p.stress == 1 else word[p.start : p.end] for p in parts)


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        # As printed by Dodson, Diniz and Leiton, Green Tea OER (CC BY 4.0): "FIre", "KItchen", "exPECted", "FRIday".
        ("fire", "FI-re"), ("kitchen", "KI-tchen"), ("expected", "ex-PEC-ted"), ("friday", "FRI-day"),
        # As printed in "Stress and Rhythm": "DAMAged" marks two syllables' letters, the main stress is the first.
        ("computer", "com-PU-ter"), ("photography", "pho-TO-gra-phy"), ("happy", "HAP-py"), ("banana", "ba-NA-na"),
        ("understand", "un-der-STAND"), ("business", "BUSI-ness"), ("people", "PEO-ple"), ("through", "THROUGH"),
    ],
)  # fmt: skip
def test_the_stressed_syllable_is_found_in_the_letters(word: str, expected: str) -> None:
    assert _split(word) == expected


@pytest.mark.parametrize("word", COMMON)
def test_syllables_cover_the_word_and_are_as_many_as_its_vowels(word: str) -> None:
    sounds = phones(word)[0]
    parts = in_letters(word, sounds, offset=5)
    assert "".join(word[p.start - 5 : p.end - 5] for p in parts) == word
    assert len(parts) == sum(phone[-1].isdigit() for phone in sounds)


@given(st.sampled_from(["vest", "exactly", "question", "apple", "strengths"]), st.text("abcdefgh'", max_size=6))
def test_any_letters_can_be_laid_on_any_sounds(word: str, tail: str) -> None:
    spans = letters_of(word + tail, phones(word)[0])
    assert spans[0][0] == 0
    assert spans[-1][1] == len(word + tail)
    assert all(before[1] == after[0] for before, after in pairwise(spans))


def test_letters_of_a_phone() -> None:
    sounds = phones("phone")[0]
    assert ["phone"[a:b] for a, b in letters_of("phone", sounds)] == ["ph", "o", "ne"]


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        # Handbook of the International Phonetic Association, American English (P. Ladefoged): symbols, from memory;
        # stress marks before the syllable.
        ("village", "ˈvɪlədʒ"), ("wave", "weɪv"), ("computer", "kəmˈpjuːtər"), ("bird", "bɜːrd"), ("thing", "θɪŋ"),
        ("arrive", "əˈraɪv"), ("every", "ˈevəri"),
    ],
)  # fmt: skip
def test_the_phonetic_alphabet(word: str, expected: str) -> None:
    assert ipa(phones(word)[0]) == expected


def test_onsets_are_as_long_as_english_allows() -> None:
    assert phone_syllables(("EH2", "K", "S", "T", "R", "AH0")) == ((0, 2), (2, 6))
    assert phone_syllables(("S", "IH1", "NG", "ER0")) == ((0, 3), (3, 4))
    assert phone_syllables(("SH",)) == ((0, 1),)
