"""Which words of a reading were read as others, by all that speaks for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest, Likelihoods, Wordings
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.beliefs import (
    ALIKE,
    ALIKE_UNKNOWN,
    CLEARLY_LIKELIER,
    COUNTED,
    COUNTED_LIKELIER,
    FAR_LIKELIER,
    FAR_SUPPORT,
    FEWEST_RIGHT,
    GAIN_OF_ALIKE,
    GAIN_OF_ALIKE_UNKNOWN,
    HEARD_ONCE,
    KNOWN_LIKELIER,
    LEAST_EVIDENCE,
    LEAST_GAIN,
    LEAST_GAIN_OF_KNOWN,
    LEAST_GAIN_OF_LIKELY,
    LEAST_SUPPORT,
    LEAST_WORTH,
    LIKELIER,
    LIKELIER_ALIKE,
    LIKELIER_ALIKE_UNKNOWN,
    LIKELIER_ALONE,
    LIKELIER_APART,
    LIKELIER_OF_SURE,
    MOVED_LIKELIER,
    NEAR_SUPPORT,
    OTHERWISE,
    OTHERWISE_AGREED,
    OTHERWISE_ALWAYS,
    OTHERWISE_KNOWN,
    OTHERWISE_LONGER,
    OTHERWISE_SHORTER,
    OTHERWISE_UNSURE,
    SUPPORT_OF_AGREED,
    SURELY_KNOWN,
    Bar,
    Facts,
    confidence_of,
    evidence,
    is_worth_asking,
)
from lessoncut.matching.chances import ways_of
from lessoncut.matching.changes import supported, with_changes
from lessoncut.matching.differences import (
    LEAST_FAINT,
    LEAST_HEARD,
    MOST_SLIGHT,
    WELL_HEARD,
    differences,
    faint_differences,
    slight_differences,
)
from lessoncut.matching.fit import FRAME_MS
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Weigh, nobody_weighs
from lessoncut.matching.records import Change, ReadWord
from lessoncut.matching.settle import settle
from lessoncut.script.records import Line
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, scoring, sounding, weighing

BANK = "Turn right at the bank."
HALL = """
    Three loud bells on the wall.
    Four wet umbrellas in the hall.
    Five odd boots in a row.
"""
PLAIN = """
    0.0  three loud bells on the wall     2.0
    3.0  four wet umbrellas in the hall   5.0
    6.0  five odd boots in a row          8.0
"""
SCRIPT = ("turn", "right", "at", "the", "bank")


def heard(text: str, script: str = BANK, least_sure: float = WELL_HEARD) -> list[tuple[str, ...]]:
    found = differences(Line("L001", script, 0, True), told(f"0.0  {text}  2.0").words, least_sure)
    return [change.heard for change, _ in found]


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("at five to six the bell rings", []),
        ("at five forty six the bell rings", [("forty",), ("six",)]),
    ],
)
def test_words_that_together_say_the_same_time_are_no_changes(text: str, changed: list[tuple[str, ...]]) -> None:
    assert heard(text, "At 5:55 the bell rings.") == changed


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("turn right at the church", [("church",)]),
        ("turn right at the tank", []),  # a recogniser's spelling of a word that sounds much like it
        ("turn right at the ~church", []),  # it was not sure
        ("~turn ~right ~the bank", []),  # small words get lost
        ("go past our old church", []),  # too much else: another sentence
    ],
)
def test_only_a_clearly_other_word_surely_heard_may_be_a_change(text: str, changed: list[tuple[str, ...]]) -> None:
    assert heard(text) == changed


def test_words_spelt_alike_are_two_where_one_was_surely_heard() -> None:
    assert heard("see you on thursday", "See you on Tuesday.") == [("thursday",)]
    assert heard("see you on ~thursday", "See you on Tuesday.", LEAST_HEARD) == []
    assert heard("see you on toosday", "See you on Tuesday.") == []


def test_the_sound_may_judge_a_word_that_the_recogniser_was_unsure_of() -> None:
    assert heard("turn right at the ~church", least_sure=LEAST_HEARD) == [("church",)]
    guessed = "Turn right at the Brockleigh."
    assert heard("turn right at the ~church", guessed, LEAST_HEARD) == []  # how that sounds is a guess
    assert heard("turn right at the church", guessed, LEAST_HEARD) == [("church",)]


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("it weighs sixty kilos in all", []),  # 60 kg
        ("it weighs sixty tonnes in all", []),  # perhaps another way to say it
        ("it weighs ninety kilograms in all", [("ninety",)]),
        ("it weighs sixty kilograms in spring", [("spring",)]),
    ],
)
def test_another_way_of_saying_a_number_is_no_change(text: str, changed: list[tuple[str, ...]]) -> None:
    assert heard(text, "It weighs 60 kg in all.") == changed


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("dial five three double four eight now", []),
        ("dial double three four four eight now", [("double",)]),
    ],
)
def test_a_figure_that_stands_twice_may_be_doubled(text: str, changed: list[tuple[str, ...]]) -> None:
    """Common practice with telephone numbers, no source."""
    assert heard(text, "Dial 5 3, 4 4 8 now.", LEAST_HEARD) == changed


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("it cost eighteen hundred and fifty pounds in march", []),
        ("it cost eighteen hundred and fifty donkeys in march", [("donkeys", "in")]),
        ("it cost eighteen hundred and fifty in pounds march", [("pounds", "march")]),
    ],
)
def test_what_is_counted_may_be_named_behind_a_figure(text: str, changed: list[tuple[str, ...]]) -> None:
    assert heard(text, "It cost 1,850 in March.") == changed


@pytest.mark.parametrize(
    ("script", "text", "changed"),
    [
        ("Count the qty on Fri.", "count the quantity on friday", []),
        ("Count the qty on Fri.", "count the windows on friday", [("windows",)]),
        ("Room 5 b is upstairs.", "room five below is upstairs", []),
        ("Room 5 b is upstairs.", "room five downstairs is upstairs", [("downstairs",)]),
        ("Count the cats on deck.", "count the carpets on deck", [("carpets",)]),  # a word, if with its letters
    ],
)
def test_a_short_form_said_in_full_is_no_change(script: str, text: str, changed: list[tuple[str, ...]]) -> None:
    assert heard(text, script) == changed


@pytest.mark.parametrize("way", ["two oh four", "two zero four", "two hundred and nine"])
def test_other_digits_are_a_change_where_they_say_another_number(way: str) -> None:
    changed = bool(heard(f"we meet in room {way} today", "We meet in room 204 today."))
    assert changed == (way == "two hundred and nine")


def test_four_figures_are_hours_and_minutes_where_the_script_has_a_time() -> None:
    assert heard("the last tram is at 2205", "The last tram is at 23:05.") == [("two",)]
    assert heard("the last tram is at 2305", "The last tram is at 23:05.") == []
    assert heard("the number is 2205", "The number is 2,205.") == []


def test_a_word_that_takes_over_the_end_of_the_one_before_is_none_misread() -> None:
    assert heard("we sit and ~need in the living room", "We sit and eat in the living room.", LEAST_HEARD) == []
    assert heard("we sit and ~cook in the living room", "We sit and eat in the living room.", LEAST_HEARD) == [
        ("cook",)
    ]
    assert heard("they sit and ~need in the sun", "They sit and sleep in the sun.", LEAST_HEARD) == [("need",)]


def test_a_thousand_may_be_heard_with_a_dot() -> None:
    assert said(told("0.0  about 2.000 people  2.0").words) == ("about", "two", "thousand", "people")
    assert said(told("0.0  about 2.05 metres  2.0").words) == ("about", "two", "point", "zero", "five", "metres")


@pytest.mark.parametrize(("figures", "changed"), [("950", [("fifty",)]), ("1650", [("sixteen",), ("fifty",)])])
def test_a_time_may_be_heard_in_figures_without_a_colon(figures: str, changed: list[tuple[str, ...]]) -> None:
    line = Line("L001", "Only at 9:15.", 0, True)
    found = slight_differences(line, told(f"0.0  only at {figures}  2.0").words)
    assert [change.heard for change, _ in found] == changed


def test_the_further_apart_two_words_sound_the_less_must_the_sound_say() -> None:
    near, far = (Change(4, 4, ("bank",), (word,), 8.0) for word in ("tank", "lighthouse"))
    assert evidence(near, 0.95, 0, 0) < LEAST_EVIDENCE <= evidence(far, 0.95, 0, 0)


def test_a_word_that_is_heard_so_in_every_reading_is_the_recognisers_own() -> None:
    change = Change(4, 4, ("bank",), ("church",), 6.0)
    here_only, everywhere, nothing_known = ((1, 0), (0, 1), (0, 0))
    assert (
        evidence(change, 0.95, *everywhere)
        < evidence(change, 0.95, *nothing_known)
        < evidence(change, 0.95, *here_only)
    )


def test_a_change_heard_in_every_reading_needs_far_more_of_the_sound() -> None:
    """ "Laura rarely" is heard "more rarely", and fits so better by 28 a frame in one voice of ours."""
    change = Change(4, 4, ("laura",), ("more",), 28.0)
    assert evidence(change, 0.9, 0, 1) < LEAST_EVIDENCE <= evidence(change, 0.9, 1, 0)


@pytest.mark.parametrize(("script_ms", "heard_ms", "is_judged"), [(90, 280, True), (300, 300, True), (90, 100, False)])
def test_the_sound_judges_where_either_side_has_the_time(script_ms: int, heard_ms: int, is_judged: bool) -> None:
    """What was not said is squeezed into no time: "get up again" read "get up at all"."""

    def laid(*words: tuple[str, int, float]) -> Alignment:
        found = tuple(AlignedWord(text, Span(1000, 1000 + length_ms), score) for text, length_ms, score in words)
        return Alignment(AlignmentRequest("L001", tuple(text for text, _, _ in words), Span(0, 2000)), found)

    change = Change(1, 1, ("again",), ("at", "all"))
    as_script = laid(("up", 200, -20.0), ("again", script_ms, -60.0))
    as_heard = laid(("up", 200, -20.0), ("at", heard_ms // 2, -20.0), ("all", heard_ms // 2, -20.0))
    assert supported(change, as_script, as_heard).support == (40.0 if is_judged else change.support)


@pytest.mark.parametrize(
    ("text", "heard", "told_of"),
    [
        ("the time in Port Averil is late", "the time in port ~ever is late", []),  # a name
        ("the time in port averil is late", "the time in port harbour is late", [("harbour",)]),
        ("we open the doors in November", "we open the doors in october", [("october",)]),  # no name
    ],
)
def test_what_is_heard_of_a_name_that_is_heard_nowhere_is_no_misreading(
    text: str, heard: str, told_of: list[tuple[str, ...]]
) -> None:
    said = f"1.0  {heard}  4.0".replace("~ever", "ever")
    ground = Ground(script(text.capitalize() if text.islower() else text), told(said), scoring(_better_as(heard)))
    span = Span(1000, 4000)
    words = tuple(ReadWord(word, span, None) for word in ground.spoken_words[0])
    attempt = Attempt(0, True, len(words), words, told(said).words, 0.2, laid=True, score=-15.0)
    (found,) = with_changes(ground, [attempt])
    assert [change.heard for change in found.changes] == told_of


def _better_as(heard: str) -> Callable[[AlignmentRequest, str], float]:
    """Words that were not heard lie poorly."""
    return lambda _, word: -15.0 if word in heard.split() else -60.0


def test_of_small_words_only_the_sound_is_asked() -> None:
    small = Change(3, 3, ("his",), ("your",), LEAST_EVIDENCE)
    assert evidence(small, 1.0, 4, 0) == evidence(small, 0.8, 0, 0) < LEAST_EVIDENCE
    assert evidence(small, 0.8, 1, 2) < evidence(small, 0.8, 2, 1)
    assert evidence(replace(small, support=30.0), 0.8, 0, 0) >= LEAST_EVIDENCE


def test_a_short_word_of_the_script_may_be_misread_but_a_short_one_heard_is_nothing_much() -> None:
    juice, tea = (
        Change(3, 3, script, heard, 20.0) for script, heard in ((("tea",), ("juice",)), (("juice",), ("tea",)))
    )
    assert evidence(juice, 0.9, 0, 0) >= LEAST_EVIDENCE > evidence(tea, 0.9, 0, 0)


def test_what_was_read_instead_takes_the_time_of_the_scripts_words() -> None:
    change = Change(1, 2, ("right", "at"), ("left",))
    assert change.in_line(SCRIPT) == ("turn", "left", "the", "bank")
    spans = [Span(0, 100), Span(100, 300), Span(300, 350), Span(350, 600)]
    assert change.as_script(spans) == (Span(0, 100), Span(100, 200), Span(200, 300), Span(300, 350), Span(350, 600))


def test_a_line_of_one_misreading_and_mishearings_beside_it_is_that_line() -> None:
    said = PLAIN.replace("four wet umbrellas", "four wet policemen")
    heard = said.replace("four wet policemen in the hall", "four red policemen in the hull")
    attempts = settle(Ground(script(HALL), told(heard), sounding(said))).attempts
    assert [(attempt.line, attempt.full) for attempt in attempts] == [(0, True), (1, True), (2, True)]
    assert [change.heard for change in attempts[1].changes] == [("policemen",)]


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("three bells on the wall", (("loud", "bells"), ("bells",))),
        ("three loud bells again on the wall", (("on",), ("again", "on"))),
        ("three bells loud on the wall", (("loud", "bells"), ("bells", "loud"))),
        ("three ~bells on the wall", None),  # what stands beside it must be surely heard
        ("three loud bells the wall", (("on", "the"), ("the",))),
        ("three loud ~bells the wall", None),  # beside a small word all the more
        ("loud bells on the wall", None),  # recognisers lose a line's first words
        ("three loud bells on the", None),  # and its last ones
    ],
)
def test_words_left_out_put_in_or_swapped_are_a_change_with_the_word_beside_them(
    text: str, change: tuple[tuple[str, ...], tuple[str, ...]] | None
) -> None:
    found = differences(Line("L001", "Three loud bells on the wall.", 0, True), told(f"0.0  {text}  2.0").words)
    assert [(each.script, each.heard) for each, _ in found] == ([change] if change else [])


def test_a_unit_that_was_not_heard_beside_a_number_is_none_left_out() -> None:
    assert heard("minus six and the jam has frozen", "-6°, and the jam has frozen.") == []


@pytest.mark.parametrize(
    ("read", "seen"),
    [
        ("four umbrellas in the hall", [(("wet", "umbrellas"), ("umbrellas",))]),
        ("four wet umbrellas quietly in the hall", [(("in",), ("quietly", "in"))]),
        ("four umbrellas wet in the hall", [(("wet", "umbrellas"), ("umbrellas", "wet"))]),
        ("four wet umbrellas in the hall", []),
    ],
)
def test_the_sound_must_bear_out_what_was_left_out_put_in_or_swapped(
    read: str, seen: list[tuple[tuple[str, ...], tuple[str, ...]]]
) -> None:
    said = PLAIN.replace("four wet umbrellas in the hall  ", f"{read}  ")
    settled = settle(Ground(script(HALL), told(said), sounding(said)))
    assert [(each.line, each.full) for each in settled.attempts] == [(0, True), (1, True), (2, True)]
    assert [(change.script, change.heard) for change in settled.attempts[1].changes] == seen
    misheard = settle(Ground(script(HALL), told(said), sounding(PLAIN)))
    assert not misheard.attempts[1].changes


def test_a_part_of_a_word_that_was_heard_is_no_other_word() -> None:
    assert heard("the case by the wall", "The bookcase by the wall.") == []
    assert heard("the table by the wall", "The bookcase by the wall.") == [("table",)]


@pytest.mark.parametrize(("better", "changed"), [(LEAST_SUPPORT - 1, False), (LEAST_SUPPORT + 1, True)])
def test_the_sound_by_itself_must_speak_for_a_change_however_sure_the_recogniser_was(
    better: float, changed: bool
) -> None:
    said = PLAIN.replace("four wet umbrellas in", "four wet carriages in")

    aligner = scoring(lambda _, word: -20.0 + better * (word == "carriages"))
    ground = Ground(script(HALL), told(said), aligner)
    (reading,) = [each for each in settle(Ground(script(HALL), told(said), sounding(PLAIN))).attempts if each.line == 1]
    (found,) = with_changes(ground, [reading])
    assert [change.heard for change in found.changes] == ([("carriages",)] if changed else [])


@pytest.mark.parametrize(
    ("likelier", "told_of"), [(LIKELIER + 1, [("yellow",)]), (LIKELIER - 1, []), (None, [("yellow",)])]
)
def test_a_misreading_is_likelier_than_the_script(likelier: float | None, told_of: list[tuple[str, ...]]) -> None:
    """Where nobody can tell, the sound alone decides."""
    text, heard = "The boat in the harbour is green.", "the boat in the harbour is yellow"
    logs = {text: -12.0, "The boat in the harbour is yellow.": -12.0 + (likelier or 0.0)}
    weigh = nobody_weighs if likelier is None else weighing(logs)
    said = told(f"1.0  {heard}  4.0")
    ground = Ground(script(text), said, scoring(_better_as(heard)), weigh=weigh)
    words = tuple(ReadWord(word, Span(1000, 4000), None) for word in ground.spoken_words[0])
    attempt = Attempt(0, True, len(words), words, said.words, 0.2, laid=True, score=-15.0)
    (found,) = with_changes(ground, [attempt])
    assert [change.heard for change in found.changes] == told_of
    change = Change(6, 6, ("green",), ("yellow",))
    (again,) = with_changes(replace(ground, align=no_aligner), [replace(attempt, changes=(change,))])
    assert [change.heard for change in again.changes] == told_of


@pytest.mark.parametrize(
    ("heard", "likelier", "alone", "told_of"),
    [
        ("hearts", LIKELIER_ALONE - 1, True, False),
        ("hearts", LIKELIER_ALONE - 1, False, True),
        ("hearts", LIKELIER_ALONE + 1, True, True),
        ("umbrellas", LIKELIER_ALONE - 1, True, True),  # it sounds quite different
    ],
)
def test_where_a_line_was_read_but_once_a_word_much_like_the_scripts_must_be_far_likelier(
    heard: str, likelier: float, alone: bool, told_of: bool
) -> None:
    change = Change(2, 2, ("hats",), (heard,), support=20.0)
    assert bool(confidence_of(Facts(change, 0.94, likelier, 700.0, 0, 0, alone=alone))) is told_of


SURE = Facts(Change(5, 5, ("out",), ("up",)), SURELY_KNOWN, LIKELIER_OF_SURE, 0.0, FEWEST_RIGHT, 0, unlike=0.9)


@pytest.mark.parametrize(
    ("facts", "told_of"),
    [
        (SURE, True),
        (replace(SURE, slight=True), True),
        (replace(SURE, probability=SURELY_KNOWN - 0.01), False),
        (replace(SURE, likelier=LIKELIER_OF_SURE - 0.1), False),
        (replace(SURE, likelier=None), False),
        (replace(SURE, right=FEWEST_RIGHT - 1), False),
        (replace(SURE, same=1), False),
        (replace(SURE, gain=-1.0), False),
        (replace(SURE, change=replace(SURE.change, support=-1.0)), False),
        (replace(SURE, named=True), False),
        (replace(SURE, of_passage=False), False),
        (replace(SURE, change=Change(5, 5, ("out",), ("up", "there"))), False),
    ],
)
def test_a_word_surely_heard_where_several_readings_have_the_scripts_was_read(facts: Facts, told_of: bool) -> None:
    """Whatever it sounds like: a small word is little sound."""
    assert bool(confidence_of(facts)) is told_of


def test_words_said_twice_are_told_though_the_recogniser_leaves_them_out() -> None:
    text = "She buys the bread."
    twice, more = (Change(1, 1, ("buys",), heard) for heard in (("buys", "buys"), ("often", "buys")))
    said = told("1.0  she buys the bread  3.0")
    ground = Ground(script(text), said, no_aligner, weigh=weighing({text: -3.0}))
    words = tuple(ReadWord(word, Span(1000, 3000), None) for word in ground.spoken_words[0])
    attempt = Attempt(0, True, len(words), words, (), 0.2, laid=True)
    for change, kept in ((twice, (twice,)), (more, ())):
        (found,) = with_changes(ground, [replace(attempt, changes=(change,))])
        assert found.changes == kept


def test_a_number_in_figures_is_spelt_out_before_it_is_weighed() -> None:
    """A recogniser that writes figures finds "eighteen" unlikely, and "seventeen" no less so."""
    asked: list[str] = []

    def weigh(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
        asked.extend(text for request in requests for text in request.texts)
        return tuple(Likelihoods(request, (-30.0, -20.0)) for request in requests)

    said = told("1.0  it burned in eighteen ten again  4.0")
    ground = Ground(script("It burned in 1710 again."), said, no_aligner, weigh=weigh)
    words = tuple(ReadWord(word, Span(1000, 4000), None) for word in ground.spoken_words[0])
    change = Change(3, 3, ("seventeen",), ("eighteen",))
    attempt = Attempt(0, True, len(words), words, (), 0.2, laid=True, changes=(change,))
    (found,) = with_changes(ground, [attempt])
    assert found.changes == (change,)
    assert asked == ["It burned in seventeen ten again.", "It burned in eighteen ten again."]


def test_a_sum_is_spelt_out_as_it_was_heard() -> None:
    line = script("It is $18 an hour.").lines[0]
    change = Change(2, 2, ("eighteen",), ("eighty",))
    assert set(ways_of(line, [change]).values()) == {"It is eighteen dollars an hour.", "It is eighty dollars an hour."}


def readings(ground: Ground) -> list[Attempt]:
    """The first line, read in every stretch of speech, with the words that were heard there."""
    texts, heard = ground.spoken_words[0], ground.hearing.words
    return [
        Attempt(0, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), words, 0.2, laid=True)
        for span in ground.hearing.speech
        if (words := tuple(word for word in heard if span.contains(word.span.start_ms)))
    ]


@pytest.mark.parametrize(("others", "told_of"), [(1, True), (2, False)])
def test_words_that_are_far_likelier_need_less_of_the_sound(others: int, told_of: bool) -> None:
    """Where other readings were not heard so."""
    text, misread = "The ferry closed at ten.", "the ferry ~sailed at ten"
    rows = [misread, *("the ferry closed at ten", misread)[:others]]
    hearing = told("\n".join(f"{4 * at}.0  {row}  {4 * at + 2}.0" for at, row in enumerate(rows)))
    aligner = scoring(lambda _, word: -15.0 if word == "sailed" else -16.0 - LEAST_SUPPORT)
    weigh = weighing({text: -26.0, text.replace("closed", "sailed"): -6.0})
    ground = Ground(script(text), hearing, aligner, weigh=weigh)
    attempts = readings(ground)
    assert bool(with_changes(ground, attempts)[0].changes) is told_of
    assert not with_changes(replace(ground, weigh=nobody_weighs), attempts)[0].changes


@pytest.mark.parametrize(
    ("support", "likelier", "elsewhere", "told_of"),
    [
        (NEAR_SUPPORT + 5, KNOWN_LIKELIER + 0.5, "work", True),
        (NEAR_SUPPORT - 1, KNOWN_LIKELIER + 0.5, "work", False),  # the sound hardly tells them apart
        (NEAR_SUPPORT + 5, KNOWN_LIKELIER - 0.5, "work", False),
        (NEAR_SUPPORT + 5, None, "work", False),  # nobody can tell
        (NEAR_SUPPORT + 5, KNOWN_LIKELIER + 0.5, "walk", False),  # her "work" is always heard so
    ],
)
def test_a_word_one_sound_from_the_scripts_is_told_where_hers_is_known(
    support: float, likelier: float | None, elsewhere: str, told_of: bool
) -> None:
    text = "She's driving to work."
    hearing = told(f"1.0  she's driving to walk  3.0\n5.0  she's driving to {elsewhere}  7.0")
    less_sure = tuple(replace(word, probability=SURELY_KNOWN - 0.02) for word in hearing.words)
    hearing = replace(hearing, words=less_sure)
    aligner = scoring(lambda _, word: -15.0 if word != "work" else -15.0 - support)
    weigh: Weigh = nobody_weighs
    if likelier is not None:
        weigh = weighing({text: -5.0 - likelier, "She's driving to walk.": -5.0})
    ground = Ground(script(text), hearing, aligner, weigh=weigh)
    attempts = readings(ground)
    assert bool(with_changes(ground, attempts)[0].changes) is told_of


@pytest.mark.parametrize(
    ("heard", "likelier", "told_of"),
    [
        ("lantern", CLEARLY_LIKELIER + 1, True),
        ("lantern", CLEARLY_LIKELIER - 1, False),  # the sound says too little
        ("~lantern", CLEARLY_LIKELIER + 1, False),  # not surely heard
        ("anger", CLEARLY_LIKELIER + 1, False),  # so like it that it may be a mishearing
    ],
)
def test_a_surely_heard_word_that_is_far_likelier_is_told_though_it_lies_no_better(
    heard: str, likelier: float, told_of: bool
) -> None:
    text, word = "He called the bright one the anchor.", heard.removeprefix("~")
    hearing = told(f"1.0  he called the bright one the {heard}  4.0")
    weigh = weighing({text: -5.0 - likelier, text.replace("anchor", word): -5.0})
    ground = Ground(script(text), hearing, scoring(lambda *_: -15.0), weigh=weigh)
    assert bool(with_changes(ground, readings(ground))[0].changes) is told_of


def test_words_that_are_likely_but_together_are_weighed_together() -> None:
    """Nobody says "some child finds", nor "a children finds"."""
    text = "Later a child finds it."
    hearing = told("1.0  later some children finds it  4.0")
    logs = {text: -20.0, "Later some child finds it.": -19.0, "Later a children finds it.": -19.0}
    aligner = scoring(lambda _, word: -15.0 if word in ("some", "children") else -30.0)
    for together, told_of in ((-8.0, [("children",)]), (-17.0, [])):
        weigh = weighing({**logs, "Later some children finds it.": together})
        ground = Ground(script(text), hearing, aligner, weigh=weigh)
        (found,) = with_changes(ground, readings(ground))
        assert [change.heard for change in found.changes if "child" in change.script] == told_of


@pytest.mark.parametrize(
    ("word", "likelier", "gain", "told_of"),
    [
        ("whole", LEAST_WORTH + 0.5, LEAST_GAIN_OF_LIKELY, True),
        ("whole", LEAST_WORTH - 0.5, LEAST_GAIN_OF_LIKELY, False),
        ("whole", MOVED_LIKELIER + 0.5, LEAST_GAIN, True),
        ("whole", LEAST_WORTH + 5, 0.0, False),
        ("very", LEAST_WORTH + 0.5, LEAST_GAIN_OF_LIKELY, True),
        ("very", LEAST_WORTH - 0.5, LEAST_GAIN + 500, False),  # so small a word may be invented
        ("~very", LEAST_WORTH * 2, LEAST_GAIN + 500, False),  # and must be heard at least evenly
    ],
)
def test_a_word_put_in_that_is_far_likelier_need_fit_the_sound_but_a_little_better(
    word: str, likelier: float, gain: float, told_of: bool
) -> None:
    text, more = "It drifts around the island.", f"It drifts around the {word.removeprefix('~')} island."
    hearing = told(f"1.0  it drifts around the {word} island  3.0")
    score = -15.0 - (gain + 20) * FRAME_MS / 2000
    aligner = scoring(lambda request, _: -15.0 if len(request.words) == 6 else score)
    ground = Ground(script(text), hearing, aligner, weigh=weighing({text: -5.0 - likelier, more: -5.0}))
    assert bool(with_changes(ground, readings(ground))[0].changes) is told_of


@pytest.mark.parametrize(
    ("heard", "elsewhere", "likelier", "told_of"),
    [
        ("can't", "can", KNOWN_LIKELIER + 1, True),
        ("can't", "can", KNOWN_LIKELIER - 1, False),
        ("~can't", "can", KNOWN_LIKELIER + 1, False),  # not surely heard
        ("can't", "can't", KNOWN_LIKELIER + 1, False),  # her "can" may always be heard so
        ("could", "can", KNOWN_LIKELIER + 1, False),  # small words are exchanged
    ],
)
def test_a_word_surely_heard_is_told_where_the_scripts_was_heard_in_another_reading(
    heard: str, elsewhere: str, likelier: float, told_of: bool
) -> None:
    text, word = "My mother can sleep through it.", heard.removeprefix("~")
    hearing = told(f"1.0  my mother {heard} sleep through it  3.0\n5.0  my mother {elsewhere} sleep through it  7.0")
    surer = tuple(replace(word, probability=min(1.0, word.probability + 0.03)) for word in hearing.words)
    hearing = replace(hearing, words=surer)
    weigh = weighing({text: -5.0 - likelier, text.replace("can", word): -5.0})
    ground = Ground(script(text), hearing, scoring(lambda *_: -15.0), weigh=weigh)
    assert bool(with_changes(ground, readings(ground))[0].changes) is told_of


@pytest.mark.parametrize(
    ("support", "likelier", "told_of"),
    [
        (FAR_SUPPORT + 1, FAR_LIKELIER + 1, True),
        (FAR_SUPPORT - 1, FAR_LIKELIER + 1, False),
        (FAR_SUPPORT + 1, FAR_LIKELIER - 1, False),
    ],
)
def test_another_name_is_told_where_all_speaks_for_it(support: float, likelier: float, told_of: bool) -> None:
    text = "Dear Mister Walden, the roof leaks."
    hearing = told(f"1.0  {text.replace('Walden', 'bennett').rstrip('.').lower()}  3.0")
    aligner = scoring(lambda _, said: -15.0 - support * (said == "walden"))
    weigh = weighing({text: -5.0 - likelier, text.replace("Walden", "bennett"): -5.0})
    ground = Ground(script(text), hearing, aligner, weigh=weigh)
    assert bool(with_changes(ground, readings(ground))[0].changes) is told_of


@pytest.mark.parametrize(
    ("elsewhere", "told_of"), [("this one's sweet but that", True), ("that one's sweet but that", False)]
)
def test_a_word_that_the_line_has_twice_then_was_not_heard_so_in_readings_that_have_it_once(
    elsewhere: str, told_of: bool
) -> None:
    """Her "this" is not always heard "that", though the line has a "that", too."""
    text = "This one's sweet but that one's sour."
    hearing = told(f"1.0  that one's sweet but that one's sour  3.0\n5.0  {elsewhere} one's sour  7.0")
    hearing = replace(hearing, words=tuple(replace(word, probability=0.97) for word in hearing.words))
    aligner = scoring(lambda _, said: -60.0 if said == "this" else -15.0)
    weigh = weighing({text: -15.0, text.replace("This", "that"): -5.0})
    ground = Ground(script(text), hearing, aligner, weigh=weigh)
    assert bool(with_changes(ground, readings(ground))[0].changes) is told_of


LIKELY = Facts(Change(2, 2, ("smile",), ("smiled",)), 1.0, LEAST_WORTH + 1, LEAST_GAIN_OF_LIKELY, 0, 0, slight=True)


@pytest.mark.parametrize(
    ("facts", "is_told"),
    [
        (LIKELY, True),
        (replace(LIKELY, likelier=LEAST_WORTH - 1), False),
        (replace(LIKELY, likelier=None), False),  # nobody can tell
        (replace(LIKELY, probability=0.7), False),  # 0.7 of 6 is too little
        (replace(LIKELY, probability=0.4, likelier=3 * LEAST_WORTH), False),  # as good as not heard
        (replace(LIKELY, gain=LEAST_GAIN_OF_LIKELY - 1), False),
        (replace(LIKELY, gain=LEAST_GAIN_OF_KNOWN, right=1), True),  # another reading was heard as the script
        (replace(LIKELY, gain=LEAST_GAIN_OF_KNOWN - 1, right=1), False),
        (replace(LIKELY, gain=LEAST_GAIN_OF_KNOWN, right=1, same=1), False),
        (replace(LIKELY, same=1), False),
        (replace(LIKELY, named=True), False),
        (replace(LIKELY, of_passage=False), False),
    ],
)
def test_a_slight_difference_is_told_where_it_is_likely_and_fits(facts: Facts, is_told: bool) -> None:
    assert bool(confidence_of(facts)) is is_told


@pytest.mark.parametrize(
    ("probability", "right", "same", "is_told"),
    [
        (0.4, 2, 0, True),
        (0.4, 2, 1, False),
        (0.6, 2, 1, True),
        (0.9, 0, 1, True),  # who reads a line wrong may do so each time
    ],
)
def test_what_was_hardly_heard_and_is_heard_elsewhere_too_is_the_recognisers_own(
    probability: float, right: int, same: int, is_told: bool
) -> None:
    change = Change(4, 4, ("shiver",), ("shame",), 40.0)
    assert bool(confidence_of(Facts(change, probability, 5.0, 340.0, right=right, same=same))) is is_told


NUMBER = Facts(Change(3, 3, ("sixteen",), ("sixty",)), COUNTED, COUNTED_LIKELIER, 0.0, right=1, same=0, slight=True)


@pytest.mark.parametrize(
    ("facts", "is_told"),
    [
        (NUMBER, True),
        (replace(NUMBER, slight=False), True),
        (replace(NUMBER, change=Change(1, 1, ("sunday",), ("monday",))), True),
        (replace(NUMBER, change=Change(1, 1, ("sundays",), ("monday",))), True),
        (replace(NUMBER, change=Change(1, 1, ("fifth",), ("ninth",))), True),
        (replace(NUMBER, change=Change(1, 1, ("fifteenth",), ("fifteen",))), False),  # hardly heard apart
        (replace(NUMBER, change=Change(1, 1, ("sunday",), ("sixty",))), False),  # nothing of a kind
        (replace(NUMBER, change=Change(1, 1, ("four",), ("for",))), False),
        (replace(NUMBER, change=Change(1, 1, ("point",), ("oh",))), False),  # no numbers by themselves
        (replace(NUMBER, change=Change(1, 2, ("sixty", "six"), ("six",))), False),  # not one for one
        (replace(NUMBER, probability=COUNTED - 0.01), False),
        (replace(NUMBER, likelier=COUNTED_LIKELIER - 0.01), False),
        (replace(NUMBER, likelier=None), False),
        (replace(NUMBER, right=0), False),  # nobody knows how she says it
        (replace(NUMBER, right=2, same=1), False),
        (replace(NUMBER, of_passage=False), False),
    ],
)
def test_one_number_or_day_for_another_is_told_where_it_is_likelier(facts: Facts, is_told: bool) -> None:
    """However it lies on the sound."""
    assert bool(confidence_of(facts)) is is_told
    assert is_worth_asking(facts) is is_told


def test_other_forms_of_a_word_are_slight_differences() -> None:
    def slight(text: str, heard: str) -> list[tuple[str, ...]]:
        found = slight_differences(Line("L001", text, 0, True), told(f"0.0  {heard}  2.0").words)
        return [change.heard for change, _ in found]

    text = "The people only smile."
    assert heard("the people only smiled", text) == []
    assert slight(text, "the people only smiled") == [("smiled",)]
    assert slight(text, "a people only smiled") == [("a",), ("smiled",)]
    assert slight(text, "a people only ~smiled") == [("a",)]
    assert slight("Sam sees the shoes.", "sam sees the shoe") == [("shoe",)]
    assert slight("The grey harbour.", "the gray harbor") == []  # but spelt otherwise
    assert slight("Ask Lindqvist.", "ask lindquist") == []  # in no dictionary
    assert slight("It costs 15 euros.", "it costs fifty euros") == [("fifty",)]
    many = "now the men in those vans sold fine red nets"
    assert len(many.split()) > MOST_SLIGHT
    assert slight("How a man on this van sells fin rod net.", many) == []


FERRY_NAMED = Change(1, 1, ("ferry",), ("story",))


def just_below(there: Facts, bar: Bar) -> tuple[Facts, ...]:
    """The facts with one of them each that the bar does not let pass."""
    return (
        replace(there, unlike=bar.unlike - 0.01),
        replace(there, unlike=None),
        replace(there, likelier=bar.likelier - 0.1),
        replace(there, likelier=None),
        replace(there, of_passage=False),
    )


@pytest.mark.parametrize(
    ("change", "right", "same", "bar"),
    [
        (FERRY_NAMED, 1, 0, OTHERWISE_KNOWN),
        (replace(FERRY_NAMED, first=0, last=0), 1, 0, OTHERWISE_UNSURE),
        (Change(2, 2, ("a",), ("the",)), 1, 0, OTHERWISE_UNSURE),
        (FERRY_NAMED, 0, 0, OTHERWISE),
        (FERRY_NAMED, 1, 1, OTHERWISE),
        (FERRY_NAMED, 0, 1, OTHERWISE_ALWAYS),
        (Change(1, 1, ("ferry",), ("old", "ferry")), 1, 0, OTHERWISE_LONGER),
        (Change(1, 2, ("old", "ferry"), ("ferry", "old")), 1, 0, OTHERWISE_LONGER),
        (Change(1, 2, ("old", "ferry"), ("ferry",)), 1, 0, OTHERWISE_SHORTER),
    ],
)
def test_what_sounds_otherwise_than_elsewhere_is_believed_from_its_bar_on(
    change: Change, right: int, same: int, bar: Bar
) -> None:
    """However improbable it is, and though the text alone does not speak for it."""
    there = Facts(change, 0.1, bar.likelier, bar.gain, right, same, slight=True, unlike=bar.unlike)
    assert is_worth_asking(there)
    assert confidence_of(there) > 0
    for less in just_below(there, bar):
        may_be_agreed = bar is OTHERWISE_UNSURE and None not in (less.unlike, less.likelier) and less.of_passage
        assert is_worth_asking(less) is may_be_agreed  # the aligner may speak for it yet
        assert confidence_of(less) == 0
    assert confidence_of(replace(there, gain=bar.gain - 1)) == 0


def test_what_all_witnesses_speak_for_a_little_is_believed() -> None:
    bar = OTHERWISE_AGREED
    change = replace(FERRY_NAMED, support=SUPPORT_OF_AGREED)
    there = Facts(change, 0.1, bar.likelier, bar.gain, 1, 0, slight=True, unlike=bar.unlike)
    assert is_worth_asking(there)
    assert confidence_of(there) > 0
    for less in (
        *just_below(there, bar),
        replace(there, right=0),
        replace(there, same=1),
        replace(there, change=replace(change, heard=("old", "story"))),
    ):
        assert not is_worth_asking(less)
        assert confidence_of(less) == 0
    for less in (replace(there, gain=bar.gain - 1), replace(there, change=replace(change, support=0.0))):
        assert confidence_of(less) == 0


@pytest.mark.parametrize(
    ("unlike", "gain", "likelier", "right", "told_of"),
    [
        (ALIKE, GAIN_OF_ALIKE - 1, LIKELIER_ALIKE - 0.1, 1, False),
        (ALIKE + 0.01, GAIN_OF_ALIKE - 1, LIKELIER_ALIKE - 0.1, 1, True),
        (None, GAIN_OF_ALIKE - 1, LIKELIER_ALIKE - 0.1, 1, True),
        (ALIKE, GAIN_OF_ALIKE, LIKELIER_ALIKE - 0.1, 1, True),
        (ALIKE, GAIN_OF_ALIKE - 1, LIKELIER_ALIKE, 1, True),
        (ALIKE_UNKNOWN, GAIN_OF_ALIKE, LIKELIER_ALIKE_UNKNOWN - 0.1, 0, False),
        (ALIKE_UNKNOWN, GAIN_OF_ALIKE, LIKELIER_ALIKE_UNKNOWN - 0.1, 1, True),
        (ALIKE_UNKNOWN + 0.01, GAIN_OF_ALIKE, LIKELIER_ALIKE_UNKNOWN - 0.1, 0, True),
        (ALIKE_UNKNOWN, 0.0, LIKELIER_ALIKE_UNKNOWN, 0, True),
        (ALIKE_UNKNOWN, GAIN_OF_ALIKE_UNKNOWN, LIKELIER_ALIKE_UNKNOWN - 0.1, 0, True),
    ],
)
def test_what_sounds_as_elsewhere_is_not_unless_much_speaks_for_it(
    unlike: float | None, gain: float, likelier: float, right: int, told_of: bool
) -> None:
    change = Change(2, 2, ("rattle",), ("matter",), support=30.0)
    assert bool(confidence_of(Facts(change, 0.97, likelier, gain, right, 0, unlike=unlike))) is told_of


@pytest.mark.parametrize(
    ("heard", "likelier", "gain", "told_of"),
    [
        (("can", "never"), LIKELIER_APART, LEAST_GAIN_OF_LIKELY, True),
        (("can", "never"), LIKELIER_APART - 0.1, LEAST_GAIN_OF_LIKELY, False),
        (("can", "never"), LIKELIER_APART, LEAST_GAIN_OF_LIKELY - 1, False),
        (("can", "not"), LIKELIER_APART, LEAST_GAIN_OF_LIKELY, False),  # the same sounds
    ],
)
def test_words_of_clearly_other_sounds_that_lie_better_need_be_less_likely(
    heard: tuple[str, ...], likelier: float, gain: float, told_of: bool
) -> None:
    change = Change(1, 1, ("cannot",), heard, support=13.0)
    facts = Facts(change, 0.98, likelier, gain, 0, 0, of_passage=False)
    assert bool(confidence_of(facts)) is told_of


@pytest.mark.parametrize(
    ("probability", "likelier", "gain", "same", "told_of"),
    [
        (SURELY_KNOWN, LIKELIER_APART, LEAST_GAIN_OF_KNOWN, 0, True),
        (SURELY_KNOWN - 0.01, LIKELIER_APART, LEAST_GAIN_OF_KNOWN, 0, False),
        (SURELY_KNOWN, LIKELIER_APART - 0.1, LEAST_GAIN_OF_KNOWN, 0, False),
        (SURELY_KNOWN, LIKELIER_APART, LEAST_GAIN_OF_KNOWN - 1, 0, False),
        (SURELY_KNOWN, LIKELIER_APART, LEAST_GAIN_OF_KNOWN, 1, False),  # it is heard so in another reading
    ],
)
def test_a_word_so_surely_heard_in_one_reading_alone_need_be_but_two_sounds_apart(
    probability: float, likelier: float, gain: float, same: int, told_of: bool
) -> None:
    change = Change(3, 3, ("stops",), ("starts",), support=2.8)
    assert bool(confidence_of(Facts(change, probability, likelier, gain, 0, same))) is told_of


@pytest.mark.parametrize(
    ("of_passage", "probability", "told_of"),
    [(True, HEARD_ONCE - 0.1, True), (False, HEARD_ONCE - 0.1, False), (False, HEARD_ONCE, True)],
)
def test_what_is_read_but_once_must_have_been_heard_surely(of_passage: bool, probability: float, told_of: bool) -> None:
    change = Change(1, 1, ("cool",), ("giggle",), support=40.0)
    facts = Facts(change, probability, 7.0, 612.0, 0, 0, of_passage=of_passage)
    assert bool(confidence_of(facts)) is told_of


@pytest.mark.parametrize(
    ("unlike", "heard", "told_of"),
    [
        (OTHERWISE_SHORTER.unlike - 0.1, ("why",), False),
        (OTHERWISE_SHORTER.unlike, ("why",), True),
        (OTHERWISE_SHORTER.unlike - 0.1, ("why", "ever"), True),
    ],
)
def test_fewer_words_than_the_script_has_must_sound_far_otherwise(
    unlike: float, heard: tuple[str, ...], told_of: bool
) -> None:
    change = Change(1, 2, ("black", "brick"), heard, support=2.0)
    facts = Facts(change, 0.3, 16.0, 2000.0, 0, 0, slight=True, unlike=unlike)
    assert bool(confidence_of(facts)) is told_of


@pytest.mark.parametrize(("gain", "told_of"), [(0.0, True), (-1.0, False)])
def test_what_is_far_likelier_does_not_lie_worse_on_the_sound(gain: float, told_of: bool) -> None:
    change = Change(2, 2, ("vowel",), ("following",), support=-2.0)
    assert bool(confidence_of(Facts(change, 0.99, CLEARLY_LIKELIER, gain, 0, 0))) is told_of


@pytest.mark.parametrize(
    ("heard", "found"),
    [
        ("the ~~story closed at ten", ("ferry", "story")),
        ("the ferry ~~never closed at ten", ("closed", "never closed")),
        ("the ferry closed at ten", None),
        ("the ferry closed at 10", None),  # the same number
        ("the ferry one two three four five ten", None),  # too many words
    ],
)
def test_faint_differences_are_of_any_probability(heard: str, found: tuple[str, str] | None) -> None:
    line = script("The ferry closed at ten.").lines[0]
    words = told(f"0.0  {heard}  2.0").words
    least = [replace(word, probability=LEAST_FAINT) for word in words]
    for row in (words, least):
        told_of = [(" ".join(change.script), " ".join(change.heard)) for change, _ in faint_differences(line, row)]
        assert told_of == ([found] if found else [])
    assert not faint_differences(line, [replace(word, probability=LEAST_FAINT / 2) for word in words])


@pytest.mark.parametrize(
    ("unlike", "told_of"), [(OTHERWISE_KNOWN.unlike + 0.1, True), (OTHERWISE_KNOWN.unlike - 0.1, False), (None, False)]
)
def test_a_faintly_heard_word_is_told_where_it_sounds_otherwise_than_in_another_reading(
    unlike: float | None, told_of: bool
) -> None:
    text, misread = "The ferry closed at ten.", "The story closed at ten."
    hearing = told("1.0  the story closed at ten  3.0\n5.0  the ferry closed at ten  7.0")
    faint = tuple(replace(word, probability=0.2) if word.text == "story" else word for word in hearing.words)
    asked = []

    def compare(span: Span, other: Span) -> Like | None:
        asked.append((span.start_ms, other.start_ms))
        return None if unlike is None else Like(part=unlike)

    weigh = weighing({text: -5.0 - OTHERWISE_KNOWN.likelier - 0.1, misread: -5.0})
    aligner = scoring(lambda *_: -15.0)
    ground = Ground(script(text), replace(hearing, words=faint), aligner, weigh=weigh, compare=compare)
    first, second = with_changes(ground, readings(ground))
    assert [change.heard for change in first.changes] == ([("story",)] if told_of else [])
    assert not second.changes
    assert set(asked) == {(1000, 5000)}  # the other one was heard as it stands
