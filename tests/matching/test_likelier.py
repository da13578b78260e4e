"""A missing line may stand where something else was told, and the recogniser may know."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import HeardWord, Likelihoods, Wordings
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import CLEAR, Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import nobody_weighs
from lessoncut.matching.likelier import (
    A_WORD,
    A_WORD_OF_TALK,
    LESS_LIKELY,
    LESS_LIKELY_ALONE,
    LIKELIER,
    LIKELIER_AGAIN,
    LIKELIER_HERE,
    LIKELIER_TWIN,
    MOST_FITTING_WORD,
    with_likelier_lines,
    with_likelier_twins,
)
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, sounding, weighing

PHOTO = "Stand by the wall.\nLook up.\nLook happy.\nCloser.\nA bit closer.\nThank you."
SAID = """
    0.0  stand by the wall   1.5
    3.0  look up             3.6
    5.0  look happy          6.0
    8.0  closer              8.3
   10.0  a bit closer       11.0
   13.0  thank you          13.8
"""


def attempt(line: int, start_ms: int, end_ms: int, upto: int | None = None) -> Attempt:
    texts = script(PHOTO).lines[line].spoken[:upto]
    words = tuple(ReadWord(text, Span(start_ms, end_ms), None) for text in texts)
    return Attempt(line, upto is None, len(texts), words, (), 0.2, laid=True)


def talk(words: str, start_ms: int, end_ms: int, probability: float = CLEAR) -> Unscripted:
    span = Span(start_ms, end_ms)
    return Unscripted(span, tuple(HeardWord(word, span, probability) for word in words.split()))


WALL, UP, HAPPY = attempt(0, 0, 1500), attempt(1, 3000, 3600), attempt(2, 5000, 6000)
CLOSER, BIT, THANKS = attempt(3, 8000, 8300), attempt(4, 10_000, 11_000), attempt(5, 13_000, 13_800)
REST = [HAPPY, CLOSER, BIT, THANKS]


def settled(
    attempts: list[Attempt], left: list[Unscripted], logs: dict[str, float], *, hears: bool = True
) -> tuple[list[tuple[int, bool]], list[Unscripted]]:
    """Which lines are read now, and whether in full; what is left of the talk."""
    ask = sounding(SAID) if hears else no_aligner
    ground = Ground(script(PHOTO), told(SAID), ask, 150.0, weigh=weighing(logs))
    found, rest = with_likelier_lines(ground, attempts, left)
    assert [each.span for each in found] == sorted(each.span for each in found)
    return [(each.line, each.full) for each in found], rest


ALL = [(line, True) for line in range(6)]


@pytest.mark.parametrize("hears", [True, False])
@pytest.mark.parametrize(
    ("instead", "heard"), [(attempt(2, 3000, 3400, 1), "Look"), (talk("luck app", 3000, 3600), "luck app")]
)
def test_a_missing_line_takes_the_place_of_a_start_or_of_talk(
    instead: Attempt | Unscripted, heard: str, hears: bool
) -> None:
    """All the speech is the line's, though the aligner finds no way."""
    attempts = [WALL, *([instead] if isinstance(instead, Attempt) else []), *REST]
    left = [instead] if isinstance(instead, Unscripted) else []
    as_told = [(each.line, each.full) for each in attempts]
    logs = {heard: -4.0, "Look up.": -4.0 - LESS_LIKELY + 0.5}
    assert settled(attempts, left, logs, hears=hears) == (ALL, [])
    assert settled(attempts, left, {**logs, "Look up.": -4.0 - LESS_LIKELY - 0.5}, hears=hears) == (as_told, left)
    assert settled([WALL, UP, *REST], left, {}) == (ALL, left)  # nothing is missing


@pytest.mark.parametrize(
    ("words", "less", "probability", "end_ms", "found"),
    [
        ("luck app", LESS_LIKELY_ALONE - 0.5, 0.5, 3600, True),
        ("luck app", LESS_LIKELY_ALONE + 0.5, 0.5, 3600, False),
        ("luck app", LESS_LIKELY_ALONE - 0.5, CLEAR, 3600, False),  # something else was surely said
        ("luck app", LESS_LIKELY_ALONE - 0.5, 0.5, 3200, False),  # too short for the line
        ("yes sir", LESS_LIKELY_ALONE - 0.5, 0.5, 3600, False),  # nothing like it
    ],
)
def test_badly_heard_talk_is_the_one_line_that_is_missing_if_it_lasts_as_long(
    words: str, less: float, probability: float, end_ms: int, found: bool
) -> None:
    left = [talk(words, 3000, end_ms, probability)]
    heard = told(SAID.replace("3.6", f"{end_ms / 1000}"))
    weigh = weighing({words: -4.0, "Look up.": -4.0 - less})
    ground = Ground(script(PHOTO), heard, no_aligner, 300.0, weigh=weigh)
    attempts, rest = with_likelier_lines(ground, [WALL, *REST], left)
    assert ([each.line for each in attempts] == list(range(6))) is found
    assert rest == ([] if found else left)


@pytest.mark.parametrize(("times", "found"), [(MOST_FITTING_WORD - 0.1, True), (MOST_FITTING_WORD + 0.1, False)])
def test_the_one_word_that_is_missing_may_be_drawn_out(times: float, found: bool) -> None:
    """More than a line of several."""
    plain = Ground(script(PHOTO), told(SAID), no_aligner, 250.0)
    end_ms = 8000 + round(times * plain.expected_ms(3, 1))
    heard = told(SAID.replace("8.0  closer              8.3", f"8.0  glosser  {end_ms / 1000}"))
    logs = {"glosser": -4.0, "Closer.": -4.0 - LESS_LIKELY_ALONE + 0.5}
    ground = replace(plain, hearing=heard, weigh=weighing(logs))
    attempts, _ = with_likelier_lines(ground, [WALL, UP, HAPPY, BIT, THANKS], [talk("glosser", 8000, end_ms, 0.5)])
    assert ([each.line for each in attempts] == list(range(6))) is found


@pytest.mark.parametrize(("log", "found"), [(-2 * A_WORD_OF_TALK + 0.5, True), (-2 * A_WORD_OF_TALK - 0.5, False)])
def test_in_talk_that_nobody_can_read_no_line_is_likely(log: float, found: bool) -> None:
    left = [talk("hoses in", 3000, 3600, CLEAR)]
    ground = Ground(script(PHOTO), told(SAID), no_aligner, 300.0, weigh=weighing({"hoses in": -30.0, "Look up.": log}))
    attempts, _ = with_likelier_lines(ground, [WALL, *REST], left)
    assert ([each.line for each in attempts] == list(range(6))) is found


@pytest.mark.parametrize(("less", "full"), [(A_WORD * 2 - 0.5, True), (A_WORD * 2 + 0.5, False)])
def test_a_start_of_a_missing_line_may_be_all_of_it_though_more_words_are_less_likely(less: float, full: bool) -> None:
    start = attempt(4, 10_000, 11_000, upto=1)
    logs = {"A": -10.0, "A bit closer.": -10.0 - less}
    found, _ = settled([WALL, UP, HAPPY, CLOSER, start, THANKS], [], logs)
    assert found[4] == (4, full)


@pytest.mark.parametrize(("by", "again"), [(LIKELIER_AGAIN + 1, True), (LIKELIER_AGAIN - 1, False)])
@pytest.mark.parametrize("before", [[], [talk("look", 6900, 7300)]])
def test_a_start_that_is_likelier_the_line_before_is_that_once_more(
    by: float, again: bool, before: list[Unscripted]
) -> None:
    told_as = " ".join([*(word.text for each in before for word in each.words), "A"])
    logs = {"A": -1.0, "look": -1.0, told_as: -20.0, "Look happy.": by - 20.0}
    heard = told(SAID.replace("8.0  closer              8.3", "6.9  look  7.3\n7.5  a bit  8.3"))
    start = attempt(4, 7500, 8300, upto=1)
    ground = Ground(script(PHOTO), heard, no_aligner, 150.0, weigh=weighing(logs))
    found, left = with_likelier_lines(ground, [WALL, UP, HAPPY, start, BIT, THANKS], before)
    assert [(each.line, each.full) for each in found][3] == ((2, True) if again else (4, False))
    assert left == ([] if again else before)


def test_a_line_that_is_told_twice_beside_a_missing_one_must_be_less_likely() -> None:
    again = attempt(3, 10_200, 11_000)
    logs = {"Closer.": -6.0, "A bit closer.": -6.0 + LIKELIER + 0.5}
    attempts = [WALL, UP, HAPPY, CLOSER, again, THANKS]
    assert settled(attempts, [], logs) == (ALL, [])
    twice = [(0, True), (1, True), (2, True), (3, True), (3, True), (5, True)]
    assert settled(attempts, [], {**logs, "A bit closer.": -6.0 + LIKELIER - 0.5}) == (twice, [])


@pytest.mark.parametrize(("by", "again"), [(LIKELIER_AGAIN + 1, True), (LIKELIER_AGAIN - 1, False)])
def test_all_that_is_said_in_one_go_may_be_the_line_before(by: float, again: bool) -> None:
    logs = {"luck A A": -20.0, "Look happy.": by - 20.0, "A": -1.0, "luck A": -1.0, "A A": -1.0}
    heard = told(SAID.replace("8.0  closer              8.3", "6.9  luck  7.1\n7.3  a  7.5\n7.8  a  8.1"))
    starts = [attempt(4, 7300, 7500, upto=1), attempt(4, 7800, 8100, upto=1)]
    ground = Ground(script(PHOTO), heard, no_aligner, 150.0, weigh=weighing(logs))
    found, left = with_likelier_lines(ground, [WALL, UP, HAPPY, *starts, BIT, THANKS], [talk("luck", 6900, 7100)])
    told_as = [(each.line, each.full) for each in found][3:-2]
    assert told_as == ([(2, True)] if again else [(4, False), (4, False)])
    assert bool(left) is not again


@pytest.mark.parametrize(("by", "mended"), [(LIKELIER + 0.5, True), (LIKELIER - 0.5, False)])
def test_a_line_from_elsewhere_where_one_is_missing_must_be_less_likely(by: float, mended: bool) -> None:
    """The recogniser may say again what it heard before."""
    astray = attempt(0, 3000, 3600)
    logs = {"Stand by the wall.": -20.0, "Look up.": by - 20.0}
    found, _ = settled([WALL, astray, *REST], [], logs)
    again = [each for each in found if each == (0, True)]
    assert (len(again), (1, True) in found) == ((1, True) if mended else (2, False))
    ahead = attempt(4, 3000, 3600)
    found, _ = settled([WALL, ahead, *REST], [], {"A bit closer.": -20.0, "Look up.": by - 20.0})
    assert ((1, True) in found) is mended


def test_without_a_whole_reading_nothing_is_missing() -> None:
    start, said = attempt(2, 5000, 5400, upto=1), talk("hello", 3000, 3600)
    assert settled([], [said], {}) == ([], [said])
    assert settled([start], [said], {}) == ([(2, False)], [said])


def test_a_line_told_as_a_start_and_another_line_behind_it_is_one() -> None:
    """The likeliest place comes first: alone "up" would be as good."""
    parts = [attempt(2, 3000, 3200, 1), attempt(2, 3200, 3600)]
    logs = {"Look Look happy.": -20.0, "Look happy.": -9.0, "Look up.": -6.0, "Look": -0.5}
    assert settled([WALL, *parts, *REST], [], logs) == (ALL, [])
    # But not where a pause parts the two: then it is one line begun anew, whichever that is.
    parts = [attempt(2, 2600, 2800, 1), attempt(2, 3100, 3600)]
    found, _ = settled([WALL, *parts, *REST], [], logs | {"Look up.": -6.5})
    assert found[1] == (2, False)


def test_the_end_of_a_line_that_is_another_is_that_one_where_its_beginning_is_likely() -> None:
    """Even where none is missing, as a learner said it behind her."""
    echoed = attempt(4, 11_500, 12_500)
    logs = {"Closer.": -12.0, "A bit closer.": -3.0}
    attempts = [WALL, UP, HAPPY, CLOSER, attempt(3, 10_400, 11_000), echoed, THANKS]
    assert settled(attempts, [], logs)[0] == [*ALL[:5], (4, True), (5, True)]
    assert settled(attempts, [], {"Closer.": -3.0})[0] == [(each.line, True) for each in attempts]


def test_a_line_whose_number_was_taken_for_the_next_line_is_whole() -> None:
    lines = script("It's 555-0182.\nOh one eight two.\nThank you.")
    said = told("1.0  it's five five five  2.4\n2.7  oh one eight two  3.7\n5.0  thank you  5.8")
    spans = (Span(1000, 2400), Span(2700, 3700), Span(5000, 5800))
    rows = [
        tuple(ReadWord(text, span, None) for text in row.spoken) for row, span in zip(lines.lines, spans, strict=True)
    ]
    attempts = [Attempt(line, True, len(words), words, (), 0.2, laid=True) for line, words in enumerate(rows)]
    logs = {"It's 555-0182. Oh one eight two.": -18.0, "It's 555-0182.": -8.0, "Oh one eight two.": -1.0}
    ground = Ground(lines, said, no_aligner, 200.0, weigh=weighing(logs))
    found, _ = with_likelier_lines(ground, attempts, [])
    assert [each.line for each in found] == [0, 2]
    assert found[0].span == Span(1000, 3700)
    assert with_likelier_lines(Ground(lines, said, no_aligner, 200.0), attempts, []) == (attempts, [])


@pytest.mark.parametrize(
    ("start_ms", "by", "longer"), [(10_300, -1.0, True), (10_300, -4.0, False), (10_100, 1.0, False)]
)
def test_a_line_told_twice_that_leaves_words_of_its_breath_is_the_longer_one(
    start_ms: int, by: float, longer: bool
) -> None:
    """ "Are you holding the line?" taken for "Hold the line." once more, from its second word on."""
    lines = script("Wait.\nHold the line.\nAre you holding the line?\nThank you.")
    said = told("0.0  wait  0.5\n8.0  hold the line  9.0\n10.0  bragging the line  11.2\n13.0  thank you  13.8")
    spans = ((0, Span(0, 500)), (1, Span(8000, 9000)), (1, Span(start_ms, 11_200)), (3, Span(13_000, 13_800)))
    attempts = [
        Attempt(line, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=True)
        for line, span in spans
        if (texts := lines.lines[line].spoken)
    ]
    logs = {"Hold the line.": -8.0, "Are you holding the line?": -8.0 + by}
    ground = Ground(lines, said, no_aligner, 200.0, weigh=weighing(logs))
    found, _ = with_likelier_lines(ground, attempts, [])
    assert [each.line for each in found] == ([0, 1, 2, 3] if longer else [0, 1, 1, 3])


def test_a_line_and_what_runs_on_from_it_may_be_a_longer_one() -> None:
    """Where the recogniser loops, in the line's first words: no line is missing."""
    lines = script("You saw it.\nYou saw it, and you liked it.\nThank you.")
    said = told("1.0  you saw it  1.8\n1.9  you saw it  2.9\n5.0  thank you  5.8")
    spans = ((0, Span(1000, 1800)), (0, Span(1900, 2900)), (2, Span(5000, 5800)))
    attempts = [
        Attempt(line, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=True)
        for line, span in spans
        if (texts := lines.lines[line].spoken)
    ]
    talk = [Unscripted(Span(1900, 2900), told("1.9  you saw it  2.9").words)]
    logs = {"You saw it. You saw it.": -9.0, "You saw it. you saw it": -9.0, "You saw it, and you liked it.": -3.0}
    logs |= {"you saw it": -1.0, "You saw it.": -1.0}
    ground = Ground(lines, said, no_aligner, 200.0, weigh=weighing(logs))
    for before, left in ((attempts[:1] + attempts[2:], talk), (attempts, [])):
        heard = [replace(each, heard=told("1.0  you saw it  1.8").words) for each in before]
        found, rest = with_likelier_lines(ground, heard, left)
        assert [each.line for each in found] == [1, 2]
        assert found[0].span == Span(1000, 2900)
        assert rest == []


def test_what_a_longer_line_covers_is_its_beginning_heard_twice() -> None:
    """ "Closer." in the midst of "A bit closer.", which stands there though its other words were taken for talk."""
    rest = talk("a bit close", 10_000, 11_000, 0.3)
    inside = attempt(3, 10_100, 10_500)
    found, left = settled([WALL, UP, HAPPY, CLOSER, inside, THANKS], [rest], {"A bit closer.": -3.0})
    assert found == ALL
    assert left == []


GIRL, MAN = "Just the left, says the girl.", "Just the left, says the man."


def twins(girl: float, *others: float, hears: bool = True) -> tuple[list[Attempt], tuple[Attempt, ...]]:
    """Readings of the second line, and what becomes of them where the first is so much likelier in each, and the first
    one was heard."""
    said = "1.0  just the left says the girl  3.0"
    lines = script(f"{GIRL}\n{MAN}\nThe rain has stopped.")
    logs = iter((girl, *others))

    def weigh(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
        assert all(request.texts == (MAN, GIRL) for request in requests)
        return tuple(Likelihoods(request, (-8.0, -8.0 + next(logs))) for request in requests)

    ground = Ground(lines, told(said), sounding(said) if hears else no_aligner, weigh=weigh)
    rows = [(1, at) for at in range(1 + len(others))] + [(2, 9)]
    attempts = [
        Attempt(line, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=True)
        for line, at in rows
        if (texts := ground.spoken_words[line]) and (span := Span(1000 + 4000 * at, 3000 + 4000 * at))
    ]
    assert with_likelier_twins(replace(ground, weigh=nobody_weighs), attempts) == tuple(attempts)
    return attempts, with_likelier_twins(ground, attempts)


def test_a_reading_is_of_the_twin_that_is_far_likelier() -> None:
    """If the aligner lays that one; lines of other words are not asked about."""
    for likelier, lines in ((LIKELIER_TWIN + 0.5, [0, 1, 2]), (LIKELIER_TWIN - 0.5, [1, 1, 2])):
        assert [each.line for each in twins(likelier, -5.0)[1]] == lines
    attempts, found = twins(LIKELIER_TWIN + 0.5, -5.0, hears=False)
    assert found == tuple(attempts)


@pytest.mark.parametrize(("usual", "line"), [(1.9, 0), (2.1, 1), (-1.9, 0)])
def test_what_is_likelier_in_every_reading_is_so_whatever_is_said(usual: float, line: int) -> None:
    assert twins(LIKELIER_HERE + 2.0, usual)[1][0].line == line


@pytest.mark.parametrize(("own", "its", "line"), [(1.0, 1.1, 1), (1.1, 1.0, 0), (None, 1.0, 0), (1.0, None, 0)])
def test_a_reading_that_sounds_as_its_own_lines_others_is_of_that(
    own: float | None, its: float | None, line: int
) -> None:
    """Where nobody can tell, the recogniser does."""
    lines = script(f"{GIRL}\n{MAN}")
    reading, another, of_twin = (Span(at, at + 2000) for at in (1000, 5000, 9000))

    def compare(_: Span, other: Span) -> Like | None:
        distance = own if other == another else its
        return None if distance is None else Like(distance)

    def weigh(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
        here, usual = {MAN: -8.0, GIRL: 0.0}, {MAN: 0.0, GIRL: -8.0}
        rows = [here if reading.contains(request.window.middle_ms) else usual for request in requests]
        return tuple(
            Likelihoods(request, tuple(row[text] for text in request.texts))
            for request, row in zip(requests, rows, strict=True)
        )

    said = "1.0  just the left says the girl  3.0\n5.0  just the left says the man  7.0"
    ground = Ground(lines, told(said), sounding(said), weigh=weigh, compare=compare)
    attempts = [
        Attempt(at, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=True)
        for at, span in ((1, reading), (1, another), (0, of_twin))
        if (texts := ground.spoken_words[at])
    ]
    assert [each.line for each in with_likelier_twins(ground, attempts)] == [line, 1, 0]


def test_a_line_a_sound_away_is_a_twin_however_far_off_it_stands() -> None:
    pill, peel = "Where did you put the pill?", "Where did you put the peel?"
    lines = script("\n".join([pill, *(f"This is room {number}." for number in range(20, 30)), peel]))
    said = "1.0  where did you put the pill  3.0\n5.0  where did you put the peel  7.0"
    spans = (Span(1000, 3000), Span(5000, 7000))

    def weigh(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
        likelier = (4.0, -4.0)
        return tuple(
            Likelihoods(request, tuple(-8.0 + by * (text == pill) for text in request.texts))
            for request, by in zip(requests, likelier, strict=True)
        )

    ground = Ground(lines, told(said), sounding(said), weigh=weigh)
    words = ground.spoken_words[11]
    attempts = [
        Attempt(11, True, len(words), tuple(ReadWord(text, span, None) for text in words), (), 0.2, laid=True)
        for span in spans
    ]
    assert [each.line for each in with_likelier_twins(ground, attempts)] == [0, 11]


def test_without_another_reading_nobody_knows_what_is_usual() -> None:
    attempts, found = twins(LIKELIER_TWIN + 20.0)
    assert found == tuple(attempts)


@pytest.mark.parametrize(
    ("heard", "changed", "line"),
    [
        ("just on the left says the boy", True, 1),
        ("just on the left says the boy", False, 0),
        ("on the left says the girl", True, 0),
    ],
)
def test_a_reading_that_is_known_to_say_another_word_is_of_the_line_that_it_is_more_like(
    heard: str, changed: bool, line: int
) -> None:
    """ "It's just on the left, says the boy." is no "It's on the left, says the girl."."""
    own, twin = "It's just on the left, says the man.", "It's on the left, says the girl."
    said = f"1.0  it's {heard}  3.0"
    lines = script(f"{twin}\n{own}")
    logs = {own: -8.0, twin: 0.0}

    def weigh(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
        usual = (-8.0, -8.0)
        return tuple(
            Likelihoods(
                request, tuple(logs[text] for text in request.texts) if request.window.start_ms < 4000 else usual
            )
            for request in requests
        )

    hearing = told(f"{said}\n5.0  it's just on the left says the man  7.0")
    ground = Ground(lines, hearing, sounding("1.0  it's on the left says the girl  3.0"), weigh=weigh)
    texts = ground.spoken_words[1]
    first, second = (
        Attempt(1, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), words, 0.2, laid=True)
        for span in (Span(1000, 3000), Span(5000, 7000))
        if (words := ground.heard_inside(span))
    )
    change = Change(7, 7, ("man",), (heard.rsplit(maxsplit=1)[-1],))
    reading = replace(first, changes=(change,) if changed else ())
    assert [each.line for each in with_likelier_twins(ground, [reading, second])] == [line, 1]


@pytest.mark.parametrize(
    ("heard", "missing", "line"),
    [
        ("in november", True, 1),
        ("in november", False, None),  # nothing is missing there
        ("on november", True, None),  # another word more
        ("in late november", True, None),
    ],
)
def test_a_missing_line_was_read_where_all_of_its_words_but_one_were_heard(
    heard: str, missing: bool, line: int | None
) -> None:
    """However much likelier that other word is."""
    lines = script("When did it rain?" + ("\nIn September." if missing else "") + "\nIt rained and rained.")
    hearing = told(f"1.0  when did it rain  2.4\n3.0  {heard}  4.0\n5.0  it rained and rained  6.6")
    logs = {heard: 0.0, "In September.": -40.0}
    ground = Ground(lines, hearing, no_aligner, 180.0, weigh=weighing(logs))
    spans = (Span(1000, 2400), Span(5000, 6600))
    attempts = [
        Attempt(at, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=True)
        for at, span in zip((0, 2 if missing else 1), spans, strict=True)
        if (texts := ground.spoken_words[at])
    ]
    talk = Unscripted(Span(3000, 4000), ground.heard_inside(Span(3000, 4000)))
    found, left = with_likelier_lines(ground, attempts, [talk])
    assert [each.line for each in found if each not in attempts] == ([] if line is None else [line])
    assert left == ([talk] if line is None else [])
