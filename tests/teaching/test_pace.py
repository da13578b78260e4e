from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.script.records import Line
from lessoncut.teaching.pace import groups, kind_of, link_kind, links, pauses, rates, syllable_count, weak_as_read
from lessoncut.teaching.records import Prominence, ReadPhone
from lessoncut.teaching.stress_rule import stress_of
from lessoncut.times import Span
from lessoncut.wording import phones


def test_pauses_are_classed_as_campione_and_veronis_class_them() -> None:
    """Campione and Véronis 2002: brief under 200 ms, medium 200 to 1000, long over."""
    assert [kind_of(ms) for ms in (60, 199, 200, 999, 1000, 1700)] == [
        "brief", "brief", "medium", "medium", "long", "long",
    ]  # fmt: skip


def test_silences_between_words_are_pauses_and_stops_are_not() -> None:
    spans = (Span(0, 300), Span(340, 600), None, Span(900, 1000))
    found = pauses(spans)
    assert [(pause.span, pause.before_word, pause.kind) for pause in found] == [(Span(600, 900), 3, "medium")]
    assert groups(4, found) == ((0, 3), (3, 4))


def test_the_rate_counts_syllables_with_and_without_pauses() -> None:
    """240 syllables a minute is the mean of British English speech (Tauroza and Allison 1990): 4 a second."""
    spans = (Span(0, 1000), Span(1500, 2500))
    assert rates(8, Span(0, 2500), pauses(spans)) == (4.0, 3.2)
    assert rates(3, Span(10, 10), ()) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("before", "after", "kind"),
    [
        # The usual table of linking (common practice, no source): an apple, bad dog, see it, go out, winter evening.
        ("an", "apple", "consonant_to_vowel"), ("bad", "dog", "held"), ("see", "it", "glide_y"),
        ("go", "out", "glide_w"), ("red", "van", None), ("the", "van", None),
        ("winter", "evening", "consonant_to_vowel"), ("winter", "wind", None),
    ],
)  # fmt: skip
def test_kinds_of_linking(before: str, after: str, kind: str | None) -> None:
    assert link_kind(phones(before)[0], phones(after)[0]) == kind


def test_a_weak_form_links_by_the_vowel_it_has_before_another() -> None:
    """ "the" and "to" before a vowel end like "see" and "do" (common practice, no source)."""
    rule = stress_of(Line("L001", "We drove to Anna for the evening.", 0, True))
    assert [(rule.words[link.word].text, link.kind) for link in links(rule)] == [
        ("to", "glide_w"), ("the", "glide_y"),
    ]  # fmt: skip


def test_words_link_inside_a_group_and_where_no_silence_parts_them() -> None:
    rule = stress_of(Line("L001", "Open it, Anna.", 0, True))
    assert [(link.word, link.kind) for link in links(rule)] == [(0, "consonant_to_vowel")]
    apart = (Span(0, 100), Span(300, 400), Span(410, 600))
    assert [link.word for link in links(rule, apart)] == [1]


def test_a_weak_form_is_read_weak_where_its_vowel_is_short_and_not_prominent() -> None:
    """Weak forms have a short vowel without stress: the textbook definition; 90 ms is our own value."""
    rule = stress_of(Line("L001", "I was looking at the van.", 0, True))
    assert [word.text for word in rule.words if word.weak] == ["was", "at", "the"]
    lengths_ms = {1: 60, 3: 140, 4: 70, 5: 150}
    phones = [ReadPhone("AH", Span(300 * word, 300 * word + length), word) for word, length in lengths_ms.items()]
    plain = [Prominence(word, 0.0, 0.0, None, -0.5, False) for word in lengths_ms]
    assert weak_as_read(rule, phones, plain) == (1, 4)
    loud = [Prominence(1, 2.0, 1.0, None, 1.0, True), *plain[1:]]
    assert weak_as_read(rule, phones, loud) == (4,)


def test_syllables_of_a_line() -> None:
    assert syllable_count(stress_of(Line("L001", "Victor waved at 3.", 0, True))) == 5


@given(st.lists(st.integers(0, 2000), min_size=1, max_size=12))
def test_groups_as_read_cover_all_words(gaps: list[int]) -> None:
    spans, at_ms = [], 0
    for gap in gaps:
        spans.append(Span(at_ms, at_ms + 200))
        at_ms += 200 + gap
    found = groups(len(spans), pauses(spans))
    assert [word for start, end in found for word in range(start, end)] == list(range(len(spans)))
