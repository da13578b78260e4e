"""Where a sentence may be broken, held against the rules and examples of published guides.

Netflix Timed Text Style Guide, "Line treatment", as the University of Tennessee's timed text guide repeats it:
break after punctuation marks, before conjunctions, before prepositions; a break should not separate a noun from an
article, a first name from a last name, a verb from a subject pronoun, a verb from an auxiliary or negation.
DCMP Captioning Key, "Line division" (its example sentences from memory).
"""

from __future__ import annotations

import pytest

from lessoncut.phrasing import break_between, ends_sentence, kept_together


@pytest.mark.parametrize(
    ("left", "right", "kind"),
    [
        ("storm.", "Then", "sentence"),
        ('deep!"', "Then", "sentence"),
        ("well...", "then", "sentence"),
        ("(yes.)", "Then", "sentence"),
        ("harbour,", "where", "clause"),
        ("confuse:", "the", "clause"),
        ("(small)", "boats", "clause"),
        ("hold", "because", "conjunction"),
        ("sleep", "in", "preposition"),
        ("ship", "sails", "plain"),
    ],
)
def test_places_that_the_guides_name(left: str, right: str, kind: str) -> None:
    assert break_between(left, right) == kind


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("the", "table."),  # noun from an article (Netflix)
        ("under", "the"),  # "Mary scampered under | the table." (DCMP)
        ("Susan", "Smith"),  # "Bob and Susan | Smith are at the movies." (DCMP)
        ("Mrs.", "Okonjo"),  # a person's title (DCMP)
        ("Dr.", "Whitcombe"),
        ("and", "she"),  # "In seconds she arrived, and | she ordered a drink." (DCMP)
        ("have", "gone"),  # "Mom said I could have | gone to the movies." (DCMP)
        ("could", "have"),
        ("have", "been"),  # "have been" (Netflix)
        ("does", "not"),  # "does not" (Netflix)
        ("don't", "forget"),
        ("she", "arrived"),  # verb from a subject pronoun (Netflix)
        ("my", "boat"),
        ("3,500", "boats"),
        ("very", "long"),
        ("bread", "–"),
        ("salt", "not"),
    ],
)
def test_pairs_that_the_guides_keep_together(left: str, right: str) -> None:
    assert break_between(left, right) == "pair"


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("I", "and"),  # a pronoun that ends its phrase
        ("it", "in"),
        ("her", "before"),
        ("look", "up"),
        ("England", "in"),
    ],
)
def test_the_same_words_may_end_a_phrase(left: str, right: str) -> None:
    assert kept_together(left, right) is None


def test_an_adjective_before_its_noun_is_a_pair_that_closed_lists_do_not_see() -> None:
    """DCMP's first rule ("Mark pushed his black | truck.") needs parts of speech."""
    assert break_between("black", "truck.") == "plain"


def test_a_title_is_no_end_of_a_sentence() -> None:
    assert not ends_sentence("Mr.")
    assert ends_sentence("harbour.”")


def test_other_languages_have_punctuation_only() -> None:
    assert break_between("in", "der", "de") == "plain"
    assert break_between("Hafen,", "wo", "de-AT") == "clause"
    assert break_between("in", "the", "en-GB") == "pair"
