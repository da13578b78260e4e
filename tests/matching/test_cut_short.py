"""Starts that break off in or before their line's last words, and were taken for all of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.cut_short import (
    LACKING_CHANGED_MS,
    LACKING_MS,
    LACKING_SURE_MS,
    LACKING_UNHEARD_MS,
    with_starts_cut_short,
)
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, sounding

SOUP = "Add a spoonful of lemon.\nStir.\nTaste it."
SAID = """
    1.0  add a spoonful of ~lemon  2.2
    4.0  add a spoonful of lemon  5.5
    7.0  stir  7.4
   20.0  add a spoonful of lemon  21.5
"""


def ground(*lacking_ms: int, said: str = SAID, first_ms: int = 1000, more_ms: int = LACKING_MS) -> Ground:
    """The first reading lacks so much of the second one, and of the last one; these lack ``more_ms`` of it."""
    lacks = dict(zip((4000, 20_000), lacking_ms, strict=True))

    def compare(span: Span, other: Span) -> Like:
        if other.start_ms == first_ms:
            return Like(lacking_ms=more_ms)
        return Like(lacking_ms=lacks[other.start_ms] if span.start_ms == first_ms else 0)

    return Ground(script(SOUP), told(said), sounding(said), compare=compare)


def readings(here: Ground) -> list[Attempt]:
    found = []
    for span in here.hearing.speech:
        heard = tuple(word for word in here.hearing.words if span.contains(word.span.middle_ms))
        words = tuple(ReadWord(word.text, word.span, None) for word in heard)
        found.append(Attempt(0 if len(words) > 1 else 1, True, len(words), words, heard, 0.1, laid=True))
    return found


@pytest.mark.parametrize(
    ("lacking_ms", "begun"),
    [
        ((LACKING_MS, LACKING_MS + 200), 4),  # in the last word
        ((700, 700), 3),  # the second reading has no more words that far from its end
        ((LACKING_MS, LACKING_MS - 1), 0),  # it is as long as one of the others
        ((0, 0), 0),
    ],
)
def test_what_lacks_the_end_of_every_other_reading_is_a_start(lacking_ms: tuple[int, int], begun: int) -> None:
    here = ground(*lacking_ms)
    first, *others = readings(here)
    (found, *rest), left = with_starts_cut_short(here, [first, *others], [])
    assert (rest, left) == (others, [])
    assert (found.full, found.texts) == (not begun, first.texts[: begun or None])
    assert found.span == first.span


@pytest.mark.parametrize(("lacking_ms", "full"), [(LACKING_SURE_MS - 1, True), (LACKING_SURE_MS, False)])
def test_where_its_last_word_was_surely_heard_it_must_lack_more(lacking_ms: int, full: bool) -> None:
    here = ground(lacking_ms, lacking_ms, said=SAID.replace("~lemon", "lemon"))
    (found, *_), _ = with_starts_cut_short(here, readings(here), [])
    assert found.full is full


def test_what_is_not_soon_begun_anew_stays_a_reading() -> None:
    here = ground(LACKING_MS, LACKING_MS)
    first, again, stir, last = readings(here)
    (found, *_), _ = with_starts_cut_short(here, [first, stir, again, last], [])
    assert found.full
    start = replace(first, full=False)
    assert with_starts_cut_short(here, [start, again, last], []) == ([start, again, last], [])


@pytest.mark.parametrize(("read_before", "full"), [(False, False), (True, True)])
def test_who_begins_the_next_line_by_mistake_reads_the_one_before_it_first(read_before: bool, full: bool) -> None:
    """But where that was read already, another pass begins: of a passage of two lines."""
    here = replace(ground(LACKING_MS, LACKING_MS), script=script("Stir.\nAdd a spoonful of lemon."))
    first, again, stir, last = (replace(each, line=1 - each.line) for each in readings(here))
    before = [stir] if read_before else []
    found, _ = with_starts_cut_short(here, [*before, first, stir, again, last], [])
    assert found[len(before)].full is full


@pytest.mark.parametrize(
    ("heard", "lacking_ms", "is_start"),
    [
        ("lime", LACKING_CHANGED_MS - 1, False),
        ("lime", LACKING_CHANGED_MS, True),
        ("let", LACKING_MS, True),  # as "lemon" begins
        ("let", LACKING_MS - 1, False),
        ("", LACKING_CHANGED_MS - 1, False),  # it was left out
    ],
)
def test_what_was_heard_to_end_in_another_word_lacks_much_of_it(heard: str, lacking_ms: int, is_start: bool) -> None:
    here = ground(lacking_ms, lacking_ms)
    first, *others = readings(here)
    changed = replace(first, changes=(Change(4, 4, ("lemon",), (heard,) if heard else ()),))
    (found, *_), _ = with_starts_cut_short(here, [changed, *others], [])
    assert found.full is not is_start
    assert bool(found.changes) is not is_start


@pytest.mark.parametrize(("heard", "full"), [((), False), (("let",), True)])
def test_where_its_last_word_was_not_heard_it_lacks_little_of_it(heard: tuple[str, ...], full: bool) -> None:
    """But where another word is believed, that is what was said."""
    here = ground(LACKING_UNHEARD_MS, LACKING_UNHEARD_MS, said=SAID.replace("~lemon", "let"))
    first, *others = readings(here)
    *words, last = first.words
    changes = (Change(4, 4, ("lemon",), heard),) if heard else ()
    first = replace(first, words=(*words, replace(last, text="lemon")), changes=changes)
    (found, *_), _ = with_starts_cut_short(here, [first, *others], [])
    assert found.full is full


BEHIND = """
    1.0  add a spoonful of  1.9
    2.3  no  2.7
    4.0  add a spoonful of lemon  5.5
   20.0  add a spoonful of lemon  21.5
"""


def taken_for_the_end(heard: str) -> tuple[Ground, list[Attempt]]:
    """The reading whose last word the aligner laid on what was said behind a pause, and the others."""
    here = ground(LACKING_MS, LACKING_MS, said=BEHIND)
    start, _, *others = readings(here)
    words = (*start.words, ReadWord("lemon", Span(2300, 2500), None))
    return here, [replace(start, upto=5, words=words, heard=(*start.heard, *told(f"2.3 {heard}  2.7").words)), *others]


def test_what_is_said_behind_a_start_is_talk() -> None:
    here, (whole, *others) = taken_for_the_end(" no")
    (found, *rest), (talk,) = with_starts_cut_short(here, [whole, *others], [])
    assert rest == others
    assert (found.full, found.texts, found.span) == (False, ("add", "a", "spoonful", "of"), Span(1000, 1900))
    assert [word.text for word in found.heard] == ["add", "a", "spoonful", "of"]
    assert (talk.span, [word.text for word in talk.words]) == (Span(2300, 2700), ["no"])


def test_a_name_behind_a_comma_that_was_misheard_is_no_talk() -> None:
    """Another reading holds as much: "I heard that, I heard" for "I heard that, Osbert."."""
    attempts = taken_for_the_end(" no")[1]
    here = ground(LACKING_MS, LACKING_MS, said=BEHIND, more_ms=LACKING_MS - 1)
    assert with_starts_cut_short(here, attempts, []) == (attempts, [])


def test_it_is_talk_from_the_first_pause_behind_which_nothing_of_the_line_was_heard() -> None:
    here = ground(LACKING_MS, LACKING_MS, said=BEHIND.replace("    2.3  no  2.7", "    2.3  no  2.5\n    2.8  no  3.1"))
    start, _, _, *others = readings(here)
    words = (*start.words, ReadWord("lemon", Span(2300, 3100), None))
    heard = (*start.heard, *told("2.3  no  2.5\n2.8  no  3.1").words)
    (found, *_), (talk,) = with_starts_cut_short(here, [replace(start, upto=5, words=words, heard=heard), *others], [])
    assert (found.full, found.span) == (False, Span(1000, 1900))
    assert (talk.span, [word.text for word in talk.words]) == (Span(2300, 3100), ["no", "no"])


def test_talk_that_runs_on_from_that_is_more_of_it() -> None:
    here, attempts = taken_for_the_end(" no")
    more = Unscripted(Span(2720, 3100), (HeardWord("sorry", Span(2720, 3100), 0.9, 1.0),))
    other = Unscripted(Span(9000, 9500), ())
    _, left = with_starts_cut_short(here, attempts, [more, other])
    assert [(talk.span, [word.text for word in talk.words]) for talk in left] == [
        (Span(2300, 3100), ["no", "sorry"]),
        (other.span, []),
    ]


def test_the_lines_own_word_behind_a_pause_is_no_talk() -> None:
    here, attempts = taken_for_the_end(" lemons")
    (found, *_), left = with_starts_cut_short(here, attempts, [])
    assert (found.full, left) == (False, [])  # it lacks the end all the same
    assert found.span.end_ms >= 2500


def test_a_reading_is_compared_without_the_other_parts_of_its_breath() -> None:
    """ "It's always late. Somebody upstairs is moving furniture." in one breath lacks nothing."""
    said = """
    1.0  add a spoonful of lemon  2.2
    4.0  add a spoonful of lemon  5.5  and now upstairs  8.0
   20.0  add a spoonful of lemon  21.5
    """
    seen = []

    def compare(span: Span, other: Span) -> Like:
        seen.append((span, other))
        return Like()

    here = Ground(script(SOUP), told(said), sounding(said), compare=compare)
    first, second, last = (replace(each, upto=5, words=each.words[:5], heard=each.heard[:5]) for each in readings(here))
    talk = Unscripted(Span(5500, 8000), ())
    with_starts_cut_short(here, [first, second, last], [talk])
    assert (Span(1000, 2200), Span(4000, 5500)) in seen
    assert (Span(1000, 2200), Span(4000, 8000)) not in seen


def test_a_line_of_one_word_is_none_and_nobody_need_compare() -> None:
    here = ground(LACKING_MS, LACKING_MS)
    *_, stir, _ = readings(here)
    assert with_starts_cut_short(here, [stir, stir], []) == ([stir, stir], [])
    deaf = Ground(here.script, here.hearing, here.align)
    assert with_starts_cut_short(deaf, readings(deaf), []) == (readings(deaf), [])
    assert with_starts_cut_short(deaf, [], []) == ([], [])


def test_a_line_said_again_that_lacks_its_end_is_a_start_of_the_next_that_begins_alike() -> None:
    """ "Ready at bow. Ready at. Ready at two.": there is no other that it could be."""
    said = "1.0  ready at bow  2.0\n3.0  ready at  3.7\n5.0  ready at two  6.0\n9.0  ready at bow  10.0"

    def compare(span: Span, _: Span) -> Like:
        return Like(lacking_ms=300 if span.start_ms == 3000 else 0)

    here = Ground(script("Ready at bow.\nReady at two.\nRow."), told(said), sounding(said), compare=compare)
    attempts = []
    for line, span in zip((0, 0, 1, 0), here.hearing.speech, strict=True):
        texts = here.spoken_words[line]
        words = tuple(
            ReadWord(text, Span(span.start_ms + 330 * at, span.start_ms + 330 * (at + 1)), None)
            for at, text in enumerate(texts)
        )
        attempts.append(Attempt(line, True, len(words), words, (), 0.1, laid=True))
    (_, start, two, _), _ = with_starts_cut_short(here, attempts, [])
    assert (start.line, start.full, start.texts) == (1, False, ("ready", "at"))
    assert two.full
    alone = replace(attempts[1], line=0)
    (found, *_), _ = with_starts_cut_short(here, [alone, *attempts[2:]], [])
    assert found.full, "nobody read the line before"
