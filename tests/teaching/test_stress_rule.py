from __future__ import annotations

import pytest

from lessoncut.script.records import Line
from lessoncut.teaching.records import RuleLine
from lessoncut.teaching.stress_rule import stress, stress_of
from lessoncut.teaching.word_lists import WEAK_FORMS

# Worked examples as teaching pages print them; * before a word that the source marks as stressed. Only single
# sentences are quoted. Sources:
#   green tea  Dodson, Diniz and Leiton, "Green Tea Intermediate English Communication OER", chapter "Content words,
#              function words and stress" (CC BY 4.0)
#   rhythm     "Stress and Rhythm", english-for-students.com
#   wake       "How Americans Speak - Sentence Stress", Wake Technical Community College ESL blog, 2017
#   got        "We've Got Rhythm", English Naturally, 2016 (content words named in the text)
#   supra      "Sentence Stress", SupraEnglish pronunciation unit 5 (stressed and reduced words named in the text)
#   teaching   "Understanding and Teaching the Pronunciation of English", ch. 9
#   mountain   "Stress in English Language", Spoken English (says: five stressed words)
#   ruth       "Rhythm: Sentence Stress", Miss Ruth's English
#   concept    "Sentence Stress and Rhythm" (a spoken English concept page)
#   content    "Word Stress - Content Words", transcript of a video lesson (high words named in the text)
#   uab        "Exercises on sentence stress, rhythm and weak forms", English Phonetics and Phonology 2, Universitat
#              Autònoma de Barcelona (its worked examples R1 and R3)
WORKED = [
    ("green tea", "There's a *fire in the *kitchen"),
    ("green tea", "the *snow is *expected on *Friday"),
    ("rhythm", "She was *sure that the *back of the *car had been *damaged."),
    ("rhythm", "She *knew the *doctor."),
    ("rhythm", "She *knew that there was a *doctor."),
    ("wake", "I *want my *brother to *play."),
    ("got", "I *sold my *car because I *went to *France."),
    ("supra", "I will *meet you at the *station."),
    ("teaching", "*Teachers should *know about *pronunciation."),
    ("mountain", "The *beautiful *mountain *appeared *transfixed in the *distance."),
    ("ruth", "He *wants it."),
    ("ruth", "*Dave's a *doctor."),
    ("concept", "The *cat is *eating *fish."),
    ("content", "*Dad's at the *bank"),
    ("content", "She *went to the *store"),
    ("uab", "I'd *need to *borrow some *money from my *father."),
    ("uab", "*Put a *coin in the *slot."),
]


def rule(text: str) -> RuleLine:
    return stress_of(Line("L001", text, 0, True))


def stressed(text: str) -> str:
    return " ".join(f"*{word.text}" if word.stressed else word.text for word in rule(text).words)


def focus(text: str) -> list[str]:
    return [word.text for word in rule(text).words if word.nucleus]


def test_the_rule_agrees_with_the_worked_examples_of_teaching_pages() -> None:
    agree = total = 0
    for _, marked in WORKED:
        words = marked.split()
        found = rule(marked.replace("*", "")).words
        assert len(found) == len(words)
        agree += sum(word.startswith("*") == read.stressed for word, read in zip(words, found, strict=True))
        total += len(words)
    assert total >= 60
    assert agree / total >= 0.9


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("I want the red pen, not the blue pen.", ["red", "blue"]),
        ("The bus stop is behind the ticket office.", ["bus", "ticket"]),
        ("Pick it up.", ["up"]),
        ("Turn off the light.", ["light"]),
        ("He gave up smoking last year.", ["year"]),
        ("She walked home yesterday.", ["home"]),
        ("Yes, I can.", ["Yes", "can"]),
        ("Somebody called someone.", ["called"]),
    ],
)
def test_the_focus_and_its_exceptions(text: str, expected: list[str]) -> None:
    """Last content word, compounds, particles, contrast, late adverbs: the textbook list (from memory)."""
    assert focus(text) == expected


def test_little_words_of_place_are_stressed_where_they_govern_nothing() -> None:
    """Adverb particles are stressed, prepositions are not: the textbook rule (from memory)."""
    assert stressed("Jack is coming over tonight.") == "*Jack is *coming *over *tonight"
    assert stressed("We play outside because it is fine.") == "We *play *outside because it is *fine"
    assert stressed("They stood outside the house.") == "They *stood outside the *house"


def test_a_word_said_in_the_line_before_gives_the_focus_up() -> None:
    lines = [Line("L001", "Vera bought a vest.", 0, True), Line("L002", "It is a warm vest.", 0, True)]
    second = stress(lines)[1]
    assert [word.text for word in second.words if word.nucleus] == ["warm"]
    assert next(word.why for word in second.words if word.nucleus) == "focus: “vest” was said before"


@pytest.mark.parametrize(
    ("text", "word", "sounds"),
    [
        # eSpeak NG 1.51 stresses the verb of this sentence on the second syllable and the noun on the first.
        ("Can you record the record for me?", 2, "R AH0 K AO1 R D"),
        ("Can you record the record for me?", 4, "R EH1 K ER0 D"),
        # The pairs below are those of every list of heteronyms; sounds as CMUdict has them.
        ("They object to it.", 1, "AH0 B JH EH1 K T"),
        ("What is that object?", 3, "AA1 B JH EH0 K T"),
        ("We live near the village.", 1, "L IH1 V"),
        ("Close the window.", 0, "K L OW1 Z"),
        ("Sit close to me.", 1, "K L OW1 S"),
        ("I have read the letter.", 2, "R EH1 D"),
        ("I want to read the letter.", 3, "R IY1 D"),
        ("The wind is cold.", 1, "W IH1 N D"),
        ("The winter wind blows hard.", 2, "W IH1 N D"),
        ("Use the separate door.", 2, "S EH1 P ER0 IH0 T"),
        ("You should present it.", 2, "P R IY0 Z EH1 N T"),
        ("She has a present for you.", 3, "P R EH1 Z AH0 N T"),
    ],
)
def test_a_heteronym_is_said_as_its_part_of_speech_asks(text: str, word: int, sounds: str) -> None:
    assert rule(text).words[word].sounds == tuple(sounds.split())


def test_weak_forms_are_weak_inside_a_group_and_strong_at_its_end() -> None:
    inside = rule("I was looking at the van.").words
    assert [word.weak for word in inside] == [None, "wəz", None, "ət", "ðə", None]
    at_end = rule("What are you looking at?").words
    assert at_end[-1].weak is None
    assert not at_end[-1].stressed
    assert at_end[1].weak == "ər"


def test_weak_forms_heed_their_neighbours() -> None:
    """ "The" and "to" before a vowel, and h after a stop (Roach, ch. 12; from memory)."""
    weak = {word.text: word.weak for word in rule("He went to eat the apple, but he gave the pear to Vera.").words[:6]}
    assert (weak["He"], weak["to"], weak["the"]) == ("hi", "tu", "ði")
    assert rule("He is at home.").words[0].weak == "hi"
    later = {word.text: word.weak for word in rule("So he gave the pear to Vera.").words}
    assert (later["he"], later["to"], later["the"]) == ("i", "tə", "ðə")


def test_a_negative_contraction_is_stressed_and_a_helping_verb_is_not() -> None:
    assert stressed("We can't see it, but you can see it.") == "We *can't *see it but you can *see it"


def test_the_list_of_weak_forms_has_the_usual_size() -> None:
    """ "About forty" (Roach, English Phonetics and Phonology, ch. 12; from memory)."""
    assert 38 <= len(WEAK_FORMS) <= 50


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        # "Starting Strong: English Essentials", p. 51, prints these with a slash where the pause is.
        ("The gym has a pool so I sometimes swim", ["The gym has a pool", "so I sometimes swim"]),
        ("I walk through the old village and wait for a van.",
         ["I walk through the old village", "and wait for a van"]),
        ("Bread, rice, and wine.", ["Bread", "rice", "and wine"]),
    ],
)  # fmt: skip
def test_thought_groups_follow_punctuation_and_then_conjunctions(text: str, groups: list[str]) -> None:
    found = rule(text)
    assert [" ".join(word.text for word in found.words[a:b]) for a, b in found.groups] == groups


def test_groups_cover_every_word_once_and_each_has_at_most_one_focus() -> None:
    for _, marked in WORKED:
        found = rule(marked.replace("*", ""))
        assert [i for a, b in found.groups for i in range(a, b)] == list(range(len(found.words)))
        assert all(sum(word.nucleus for word in found.words[a:b]) <= 1 for a, b in found.groups)


@pytest.mark.parametrize("text", ["", "...", "Um?", "3 vans at 7:30", "“The” is an article.", "Ж"])
def test_odd_lines_do_not_break_the_rule(text: str) -> None:
    found = rule(text)
    assert all(text[word.start : word.end] == word.text for word in found.words)


def test_a_word_in_quotation_marks_is_named_not_used() -> None:
    assert stressed("We say “the” and “a” often.") == "We *say *the and *a *often"
