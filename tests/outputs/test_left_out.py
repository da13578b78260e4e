"""What an output lacks is told to the teacher, for each reason, and nothing is told where nothing lacks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.outputs import NotPossible, Output, Programme, all_outputs, named
from lessoncut.outputs.choices import Choices
from lessoncut.outputs.handout_html import handout_html
from lessoncut.outputs.left_out import no_signs, of_sheet
from lessoncut.outputs.target_sounds import target_sounds
from tests.outputs.lessons import studied

GERMAN = "Wir waren im Wald.\nWo war Eva?"
LETTERS = "The waves are **very** wavy.\nShe wrote Привет on the wall.\nWe waited."
EVERYTHING = Choices(ipa=True, melody=True)


def _german() -> Programme:
    return studied(GERMAN, language="de")[0]


@pytest.mark.parametrize("kind", [kind for kind in all_outputs() if kind.of_study], ids=lambda kind: kind.name)
def test_no_dictionary_for_the_language(kind: Output) -> None:
    """Every output that shows stress or sounds says so; the teacher's notes have a section for it."""
    if kind.name == "teacher-notes":
        assert "no pronouncing dictionary here for “de”" in kind.content(_german()).decode()
        assert kind.left_out(_german()) == ()
        return
    (sentence,) = kind.left_out(_german())
    assert "no pronouncing dictionary here for “de”" in sentence
    assert sentence.endswith("are left out.")


def test_sounds_that_were_named_are_not_asked_for_again() -> None:
    with pytest.raises(NotPossible, match="no pronouncing dictionary"):
        target_sounds(_german())


@pytest.mark.parametrize("name", ["handout-html", "handout-pdf", "handout-markdown", "practice-pack"])
def test_a_word_that_is_not_in_english_letters_leaves_its_line_without_signs(name: str) -> None:
    programme, _ = studied(LETTERS)
    told = named(name).left_out(replace(programme, choices=Choices(ipa=True)))
    assert told == ("Phonetic signs are missing for line 2: a word there cannot be read as English.",)


def test_a_line_without_voice_has_no_melody() -> None:
    programme = replace(studied(LETTERS)[0], choices=EVERYTHING)  # read in silence
    assert [sentence.partition(":")[0] for sentence in of_sheet(programme)] == [
        "Phonetic signs are missing for line 2",
        "The melody is missing for lines 1, 2 and 3",
    ]


def test_what_was_not_asked_for_is_not_told() -> None:
    assert of_sheet(studied(LETTERS)[0]) == ()


@pytest.mark.parametrize("kind", [kind for kind in all_outputs() if kind.of_study], ids=lambda kind: kind.name)
def test_nothing_is_told_where_all_is_there(kind: Output) -> None:
    programme = replace(studied(voiced=True)[0], choices=EVERYTHING)
    if kind.name == "target-sounds":  # nobody laid the sounds of these readings
        assert ["guessed" in sentence for sentence in kind.left_out(programme)] == [True]
        return
    assert kind.left_out(programme) == ()


def test_many_lines_are_counted() -> None:
    (sentence,) = no_signs(list(range(1, 10)))
    assert "lines 1, 2, 3, 4, 5, 6 and 3 more" in sentence


def test_learners_are_not_told() -> None:
    assert "dictionary" not in handout_html(replace(_german(), choices=EVERYTHING))
