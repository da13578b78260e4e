"""Starts that break off in their last word, and were heard whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.cut_short import LACKING_CHANGED_MS, LACKING_MS, LACKING_OTHERWISE_MS, with_starts_cut_short
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, sounding

SOUP = "Add a spoonful of lemon.\nStir.\nTaste it."
SAID = """
    1.0  add a spoonful of lemon  2.2
    4.0  add a spoonful of lemon  5.5
    7.0  stir  7.4
   20.0  add a spoonful of lemon  21.5
"""


def ground(*lacking_ms: int, said: str = SAID) -> Ground:
    """The first reading lacks so much of the second one, and of the last one."""
    lacks = dict(zip((4000, 20_000), lacking_ms, strict=True))

    def compare(span: Span, other: Span) -> Like:
        return Like(lacking_ms=lacks[other.start_ms] if span.start_ms == 1000 else 0)

    return Ground(script(SOUP), told(said), sounding(said), compare=compare)


def readings(here: Ground) -> list[Attempt]:
    found = []
    for span in here.hearing.speech:
        heard = tuple(word for word in here.hearing.words if span.contains(word.span.middle_ms))
        words = tuple(ReadWord(word.text, word.span, None) for word in heard)
        found.append(Attempt(0 if len(words) > 1 else 1, True, len(words), words, heard, 0.1, laid=True))
    return found


@pytest.mark.parametrize(
    ("lacking_ms", "is_start"),
    [
        ((LACKING_MS, LACKING_MS + 200), True),
        ((LACKING_MS, LACKING_MS - 1), False),  # it is as long as one of the others
        ((0, 0), False),
    ],
)
def test_what_lacks_the_end_of_every_other_reading_is_a_start(lacking_ms: tuple[int, int], is_start: bool) -> None:
    here = ground(*lacking_ms)
    first, *others = readings(here)
    found, *rest = with_starts_cut_short(here, [first, *others])
    assert rest == others
    assert found.full is not is_start
    assert found.span == first.span
    assert found.texts == (("add", "a", "spoonful", "of") if is_start else first.texts)


def test_what_is_not_begun_anew_or_was_heard_otherwise_stays_a_reading() -> None:
    here = ground(LACKING_MS, LACKING_MS)
    first, again, stir, last = readings(here)
    assert with_starts_cut_short(here, [first, stir, again, last]) == [first, stir, again, last]
    changed = replace(first, changes=(Change(4, 4, ("lemon",), ("lime",)),))
    start = replace(first, full=False)
    for other in (changed, start):
        assert with_starts_cut_short(here, [other, again, stir, last]) == [other, again, stir, last]


@pytest.mark.parametrize(
    ("first", "lacking_ms", "is_start"),
    [(4, LACKING_CHANGED_MS, True), (4, LACKING_CHANGED_MS - 1, False), (2, LACKING_CHANGED_MS, False)],
)
def test_what_was_heard_otherwise_at_its_end_lacks_much_of_it(first: int, lacking_ms: int, is_start: bool) -> None:
    here = ground(lacking_ms, lacking_ms, said=SAID.replace("of lemon  2.2", "of her  2.2"))
    reading, *others = readings(here)
    lemon = tuple(replace(word, text=text) for word, text in zip(reading.words, others[0].texts, strict=True))
    changed = replace(reading, words=lemon, changes=(Change(first, 4, lemon_texts(first), ("her",)),))
    assert with_starts_cut_short(here, [changed, *others])[0].full is not is_start


def lemon_texts(first: int) -> tuple[str, ...]:
    return ("add", "a", "spoonful", "of", "lemon")[first:]


@pytest.mark.parametrize(
    ("heard", "lacking_ms", "begun"),
    [
        ("add a spoonful of", LACKING_OTHERWISE_MS, 4),
        ("add a spoonful of lem", LACKING_MS, 4),
        ("add a spoonful of lem", LACKING_MS - 1, 0),
        ("add a spoonful of leather", LACKING_OTHERWISE_MS, 4),
        ("add a spoonful of leather", LACKING_OTHERWISE_MS - 1, 0),
        ("add a spoon", LACKING_OTHERWISE_MS, 2),
        ("add a lemon", LACKING_OTHERWISE_MS, 0),  # the end is there
        ("add a spoon of leather", LACKING_OTHERWISE_MS, 0),  # too much else
        ("and a spoonful", LACKING_OTHERWISE_MS, 0),  # it does not begin so
        ("", LACKING_OTHERWISE_MS, 0),
    ],
)
def test_what_was_heard_of_a_start_tells_where_it_breaks_off(heard: str, lacking_ms: int, begun: int) -> None:
    here = ground(lacking_ms, lacking_ms)
    first, *others = readings(here)
    words = told(f"1.0  {heard}  2.2").words if heard else ()
    found, *_ = with_starts_cut_short(here, [replace(first, heard=words), *others])
    assert (found.full, len(found.words)) == ((False, begun) if begun else (True, 5))
    assert found.span == first.span


def test_a_line_of_one_word_is_none_and_nobody_need_compare() -> None:
    here = ground(LACKING_MS, LACKING_MS)
    *_, stir, _ = readings(here)
    assert with_starts_cut_short(here, [stir, stir]) == [stir, stir]
    deaf = Ground(here.script, here.hearing, here.align)
    assert with_starts_cut_short(deaf, readings(deaf)) == readings(deaf)
    assert with_starts_cut_short(deaf, []) == []
