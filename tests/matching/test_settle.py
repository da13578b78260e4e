"""What the recogniser swallowed or misheard is found in the sound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching import settle as settling
from lessoncut.matching import unknown
from lessoncut.matching.attempts import Attempt, Settled, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import scoring, sounding, weighing
from tests.matching.test_speakers import Colour


def settle(heard: str, said: str | None = None) -> Settled:
    return settling.settle(Ground(script(FERRY), told(heard), sounding(said or heard)))


def attempts(settled: Settled) -> list[tuple[int, bool, int]]:
    """Line, whether full, and where it begins in ms."""
    return [(attempt.line, attempt.full, attempt.span.start_ms) for attempt in settled.attempts]


PLAIN = """
    0.0  the ferry leaves at seven        1.5
    2.0  vera waits beside the water      3.5
    4.0  a woman waves from the window    6.0
    6.5  we have five minutes left        8.0
    8.5  the river is wide and very cold  10.5
"""


def test_a_clean_take_gives_each_line_once() -> None:
    settled = settle(PLAIN)
    assert attempts(settled) == [(0, True, 0), (1, True, 2000), (2, True, 4000), (3, True, 6500), (4, True, 8500)]
    assert settled.unscripted == ()


def test_a_line_that_gave_no_words_is_found_by_its_sound() -> None:
    heard = PLAIN.replace("we have five minutes left ", "...")
    assert attempts(settle(heard, PLAIN)) == attempts(settle(PLAIN))


def test_a_line_misheard_beyond_recognition_is_found_by_its_sound() -> None:
    heard = PLAIN.replace("vera waits beside the water", "fairer weights besides a waiter now")
    assert (1, True, 2000) in attempts(settle(heard, PLAIN))


@pytest.mark.parametrize(("last", "asked"), [("window", False), ("~window", True)])
def test_a_line_whose_last_word_was_surely_heard_did_not_break_off(last: str, asked: bool) -> None:
    """A word misread before it lets the first words fit the whole sound better than the line does."""
    heard = PLAIN.replace("a woman waves from the window", f"a woman waves under my old {last}")
    requests: list[AlignmentRequest] = []
    answer = sounding(heard)

    def ask(questions: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        requests.extend(questions)
        return tuple(answer(questions))

    settling.settle(Ground(script(FERRY), told(heard), ask))
    heard_span = Span(4000, 6000)
    begun = [request for request in requests if request.words == ("a", "woman", "waves", "from", "the")]
    assert any(request.window.overlap_ms(heard_span) == heard_span.length_ms for request in begun) == asked


def test_a_swallowed_false_start_is_found() -> None:
    heard = """
        0.0  the ferry leaves at seven        1.5
        2.0  ...                              2.6
        3.2  vera waits beside the water      4.7
        5.2  a woman waves from the window    7.2
    """
    said = heard.replace("...       ", "vera waits")
    assert attempts(settle(heard, said))[:3] == [(0, True, 0), (1, False, 2000), (1, True, 3200)]


def test_a_swallowed_second_reading_is_found() -> None:
    heard = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits beside the water      3.5
        4.2  ...                              5.7
        6.2  a woman waves from the window    8.2
    """
    said = heard.replace("...", "vera waits beside the water")
    assert [a for a in attempts(settle(heard, said)) if a[0] == 1] == [(1, True, 2000), (1, True, 4200)]


def test_talk_and_unread_speech_stay_outside_the_script() -> None:
    heard = PLAIN + "\n   11.0  okay that was better  12.5\n   14.0  ...  15.0"
    settled = settle(heard, heard)
    assert [(talk.span.start_ms, [w.text for w in talk.words]) for talk in settled.unscripted] == [
        (11000, ["okay", "that", "was", "better"]),
        (14000, []),
    ]


def test_a_changed_word_that_the_sound_supports_is_kept_as_a_change() -> None:
    said = PLAIN.replace("five minutes", "nine minutes")
    (changed,) = [attempt for attempt in settle(said).attempts if attempt.changes]
    assert (changed.line, changed.changes[0].script, changed.changes[0].heard) == (3, ("five",), ("nine",))


def test_a_line_whose_last_word_was_read_as_another_is_the_line_and_not_a_start_of_it() -> None:
    said = PLAIN.replace("vera waits beside the water", "vera waits beside the kitchen")
    settled = settle(said)
    assert attempts(settled) == attempts(settle(PLAIN))
    assert [change.heard for attempt in settled.attempts for change in attempt.changes] == [("kitchen",)]


def test_something_else_said_after_a_pause_is_not_the_end_of_the_line() -> None:
    said = PLAIN.replace("vera waits beside the water      3.5", "vera waits beside the  2.9\n 3.3  sorry  3.5")
    assert (1, False, 2000) in attempts(settle(said))


def test_what_is_heard_as_another_line_is_that_line_and_no_change() -> None:
    twins = "Turn left at the station.\nTurn left at the lighthouse.\n"
    heard = """
        0.0  turn left at the station     1.5
        2.0  turn left at the lighthouse  3.5
        4.0  turn left at the lighthouse  5.5
    """
    settled = settling.settle(Ground(script(twins), told(heard), sounding(heard)))
    assert [(attempt.line, attempt.changes) for attempt in settled.attempts] == [(0, ()), (1, ()), (1, ())]


def test_a_misheard_word_that_the_sound_does_not_support_is_no_change() -> None:
    heard = PLAIN.replace("five minutes", "nine minutes")
    assert [attempt.changes for attempt in settle(heard, PLAIN).attempts] == [()] * 5


TALKED = PLAIN.replace("we have five minutes left ", "...") + (
    "\n   11.0  okay that was better let me think about the next one  13.5"
    "\n   14.0  ...  15.0"
    "\n   15.6  the river  16.1"
)


def test_what_is_not_asked_would_have_changed_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    fewer = settle(TALKED, TALKED)
    monkeypatch.setattr(unknown, "unasked_doubt", lambda *_: 0.0)
    assert settle(TALKED, TALKED) == fewer


def test_talk_that_was_heard_clearly_is_not_asked_about() -> None:
    asked: list[AlignmentRequest] = []
    answer = sounding(TALKED)

    def remembering(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        asked.extend(requests)
        return answer(requests)

    settling.settle(Ground(script(FERRY), told(TALKED), remembering))
    assert not [request for request in asked if request.window.overlap_ms(Span(11_200, 13_300))]
    assert [request for request in asked if request.window.overlap_ms(Span(14_200, 14_800))]


def test_a_line_begun_anew_in_one_breath_is_a_start_and_the_line() -> None:
    """The recogniser gives the words once, stretched over both; only a moment of stillness parts the two."""
    said = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits  2.6  vera waits beside the water  4.2
        5.0  a woman waves from the window    7.0
    """
    heard = said.replace("vera waits  2.6  vera waits beside", "vera  2.4  waits beside")
    hearing = replace(told(heard), breaks=(Span(2_560, 2_640),))
    settled = settling.settle(Ground(script(FERRY), hearing, sounding(said)))
    assert attempts(settled) == [(0, True, 0), (1, False, 2000), (1, True, 2600), (2, True, 5000)]


def test_stillness_inside_a_line_alone_makes_no_start_of_it() -> None:
    hearing = replace(told(PLAIN), breaks=(Span(2_560, 2_640), Span(4_800, 4_880)))
    assert attempts(settling.settle(Ground(script(FERRY), hearing, sounding(PLAIN)))) == attempts(settle(PLAIN))


def test_a_word_that_the_recogniser_gave_no_time_still_counts() -> None:
    hearing = told(PLAIN)
    words = [
        replace(w, span=Span(w.span.start_ms, w.span.start_ms)) if w.text == "beside" else w for w in hearing.words
    ]
    (line,) = [
        a
        for a in settling.settle(Ground(script(FERRY), replace(hearing, words=tuple(words)), sounding(PLAIN))).attempts
        if a.line == 1
    ]
    assert line.doubt == 0.0


def test_a_start_that_breaks_off_in_a_word_is_found_though_that_word_is_misheard() -> None:
    heard = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits ~beeps                2.9
        3.5  vera waits beside the water      5.0
    """
    # What is said of "beside" is not enough for the aligner either.
    assert attempts(settle(heard)) == [(0, True, 0), (1, False, 2000), (1, True, 3500)]


@pytest.mark.parametrize(("again", "is_one"), [("the page you need is ~eater", False), ("~a ~bit ~or ~corner", True)])
def test_a_line_whose_first_words_were_heard_again_behind_a_pause_is_not_all_that_was_said(
    again: str, is_one: bool
) -> None:
    """Though all of it lies as well on both."""
    lines = script("The page you need is blue, it says sixty, and it has a stain in the corner.")
    spans = (Span(0, 2600), Span(3000, 5200))
    hearing = told(f"0.0  the page you need is ~blue ~sixteen ~dandy  2.6\n3.0  {again}  5.2")
    ground = Ground(lines, hearing, scoring(lambda *_: -15.0), 250.0)
    group = tuple(Unscripted(span, ground.heard_inside(span)) for span in spans)
    found, _ = unknown.name_unknown(ground, [group], [])
    assert any(all(each.span.overlap_ms(span) > 1000 for span in spans) for each in found) == is_one


def test_a_line_read_again_far_from_its_place_is_found_by_its_words() -> None:
    heard = PLAIN + "\n   11.0  that was all  12.0\n   13.0  a bowman waves from a window  15.0"
    said = heard.replace("a bowman waves from a window", "a woman waves from the window")
    assert (2, True, 13000) in attempts(settle(heard, said))


def test_a_start_goes_on_to_the_end_of_its_breath() -> None:
    heard = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits  2.7
        2.75  ...  3.1
        3.6  vera waits beside the water      5.1
    """
    hearing = told(heard)
    hearing = replace(
        hearing, speech=(hearing.speech[0], Span(2000, 3100), hearing.speech[3]), breaks=(Span(2700, 2750),)
    )
    said = heard.replace("...", "beside")
    settled = settling.settle(Ground(script(FERRY), hearing, sounding(said)))
    assert attempts(settled) == [(0, True, 0), (1, False, 2000), (1, True, 3600)]


def test_two_starts_that_together_are_as_long_as_the_line_are_two_starts() -> None:
    heard = """
        0.0  the ferry leaves at seven                  1.5
        2.0  vera waits  2.65  ~or  2.9  vera waits     3.6
        4.2  vera waits beside the water                5.7
    """
    hearing = replace(told(heard), breaks=(Span(2_700, 2_880),))
    said = heard.replace("2.65  ~or  2.9", "2.9")
    settled = settling.settle(Ground(script(FERRY), hearing, sounding(said)))
    assert attempts(settled) == [(0, True, 0), (1, False, 2000), (1, False, 2900), (1, True, 4200)]


def test_a_start_takes_the_wordless_sound_that_follows_in_one_breath() -> None:
    heard = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits  2.6
        2.6  ...  3.1
        3.6  vera waits beside the water      5.1
    """
    hearing = told(heard)
    hearing = replace(hearing, speech=(hearing.speech[0], Span(2000, 3100), hearing.speech[3]))
    settled = settling.settle(Ground(script(FERRY), hearing, sounding(heard)))
    assert attempts(settled) == [(0, True, 0), (1, False, 2000), (1, True, 3600)]
    assert settled.attempts[1].span == Span(2000, 3100)
    assert settled.unscripted == ()
    # Nothing of it where it is a cough, or where a moment of room tone parts the two.
    coughed = settling.settle(
        Ground(script(FERRY), hearing, sounding(heard), voice_of=lambda span: Colour(3.0 * (span.start_ms > 2_500)))
    )
    assert coughed.attempts[1].span.end_ms <= 2600
    assert [talk.words for talk in coughed.unscripted] == [()]
    parted = replace(hearing, breaks=(Span(2_560, 2_640),))
    assert settling.settle(Ground(script(FERRY), parted, sounding(heard))).attempts[1].span.end_ms < 2700


def test_a_last_word_heard_as_more_words_is_the_line_s_and_no_talk_behind_it() -> None:
    heard = PLAIN.replace("we have five minutes left        8.0", "we have five minutes  7.7  lift  7.9  ~it ~off 8.2")
    said = PLAIN.replace("minutes left        8.0", "minutes  7.7  left  8.2")
    settled = settle(heard, said)
    assert [(a.line, a.full) for a in settled.attempts] == [(at, True) for at in range(5)]
    assert settled.attempts[3].span.end_ms == 8200
    assert settled.unscripted == ()


def test_a_line_s_last_words_after_a_comma_s_pause_are_its_own_though_misheard() -> None:
    heard = PLAIN.replace(
        "6.5  we have five minutes left        8.0", "6.5  we have five minutes  7.7\n    8.1  lord  8.4"
    )
    settled = settle(heard, heard.replace("lord", "left"))
    assert [(a.line, a.full) for a in settled.attempts] == [(at, True) for at in range(5)]
    assert settled.attempts[3].span == Span(6500, 8400)
    # What is longer than the missing word by far is talk, and the line was broken off.
    longer = heard.replace("lord  8.4", "okay that was wrong  9.4").replace("8.5  the river", "10.5  the river")
    settled = settle(longer.replace("cold  10.5", "cold  12.5"))
    assert (3, False, 6500) in attempts(settled)


def test_the_end_of_a_line_misheard_as_talk_is_found_behind_speech_without_words() -> None:
    """A word that was swallowed inside the line leaves such speech between the line and the talk, in time order."""
    boats = script("Good evening and welcome to the house of boats and nets in old Harrow.\nThe sun is low.")
    said = "0.0  good evening and welcome to the house of boats and nets in old harrow  6.0\n8.0  the sun is low  9.5"
    heard = told(said.replace("nets in old harrow", "~annette ~know ~what ~i'm ~with"))
    swallowed = replace(heard, words=(*heard.words[:2], *heard.words[3:]))
    settled = settling.settle(Ground(boats, swallowed, sounding(said)))
    assert attempts(settled) == [(0, True, 0), (1, True, 8000)]
    assert settled.unscripted == ()


def test_a_start_that_sounds_as_the_next_line_begins_is_that_line_s() -> None:
    """The recogniser writes "sales", as the line before has it, and no sound tells the two apart."""
    sails = script("The sales are up by eight.\nThe sails are up said Vera from the boat.")
    heard = "0.0  the sales are up by eight  2.0\n3.0  the sales are  4.0\n"
    heard += "5.0  the sales are up said vera from the boat  8.0"
    settled = settling.settle(Ground(sails, told(heard), sounding(heard)))
    assert attempts(settled) == [(0, True, 0), (1, False, 3000), (1, True, 5000)]


def test_a_start_that_goes_on_after_a_comma_is_one() -> None:
    """The recogniser lost the word behind the comma."""
    buttons = script("I've pressed the yellow button, I've pressed the red one.\nIt's late.")
    whole = "2.0  i've pressed the yellow button i've pressed the red one  5.0\n6.0  it's late  7.0"
    words = "0.0  i've pressed the yellow button  1.2"
    said = f"{words}\n1.3  i've  1.75\n{whole}"
    settled = settling.settle(Ground(buttons, told(said.replace("1.3  i've", "1.3  ...")), sounding(said)))
    assert attempts(settled) == [(0, False, 0), (0, True, 2000), (1, True, 6000)]
    assert settled.attempts[0].span == Span(0, 1750)


def test_a_line_that_begins_with_one_word_thrice_is_no_start_and_a_line() -> None:
    """The line lies on its second and third "kick" nearly as well as on all three, behind the closure of the first."""
    kicks = script("Kick, kick, kick, and rest.\nThe sun is low.")
    rest = "4.0  the sun is low  5.5"
    heard = replace(told(f"0.0  kick kick kick and rest  2.2\n{rest}"), breaks=(Span(280, 340),))
    whole, after = (sounding(f"{at}  kick kick kick and rest  2.2\n{rest}") for at in ("0.0", "0.34"))

    def generous(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        """What follows the first "kick" holds the line, too, a little worse."""
        return tuple(
            _poorer(after([one])[0]) if 0 < one.window.start_ms < 2_000 else whole([one])[0] for one in requests
        )

    settled = settling.settle(Ground(kicks, heard, generous))
    assert attempts(settled) == [(0, True, 0), (1, True, 4000)]


def _poorer(alignment: Alignment) -> Alignment:
    return replace(alignment, words=tuple(replace(word, score=word.score - 2) for word in alignment.words))


LISTED = """
    The ferry leaves at seven.
    Bit, beat, fill, feel, sit, seat, bid.
    Vera waits beside the water.
"""
PAUSED = """
     0.0  the ferry leaves at seven    1.5
     3.0  bit    3.2
     3.5  beat   3.7
     4.0  fill   4.2
     4.5  feel   4.7
     5.0  sit    5.2
     5.5  seat   5.7
     6.0  bid    6.2
    10.0  vera waits beside the water  11.5
"""


def test_a_list_with_a_pause_after_each_word_is_one_line_though_misheard() -> None:
    heard = PAUSED.replace("bit ", "that ").replace("beat", "bead").replace("fill", "fell").replace("feel", "field")
    heard = heard.replace("sit ", "set ").replace("seat", "see").replace("bid", "bed")
    settled = settling.settle(Ground(script(LISTED), told(heard), sounding(PAUSED)))
    assert [(each.line, each.full) for each in settled.attempts] == [(0, True), (1, True), (2, True)]
    assert settled.attempts[1].span == Span(3000, 6200)
    assert settled.unscripted == ()


def attempt(line: int, upto: int, at: Span, *heard: str, changes: tuple[Change, ...] = ()) -> Attempt:
    texts = script(FERRY).lines[line].spoken
    marks = [at.start_ms + at.length_ms * each // upto for each in range(upto + 1)]
    words = tuple(ReadWord(text, Span(*row), None) for text, row in zip(texts, pairwise(marks), strict=False))
    said = tuple(HeardWord(word, at, 0.8) for word in heard)
    return Attempt(line, upto == len(texts), upto, words, said, 0.5, laid=True, changes=changes)


@pytest.mark.parametrize(
    ("start", "joined"),
    [
        (attempt(1, 1, Span(3480, 3900), "water"), True),  # "water" was parted from the line's end
        (attempt(1, 1, Span(3480, 3900), "vera"), False),  # she begins anew
        (attempt(1, 1, Span(3900, 4300), "water"), False),  # behind a pause
        (attempt(2, 1, Span(3480, 3900), "water"), False),  # of another line
    ],
)
def test_what_runs_on_from_a_reading_and_was_not_heard_as_its_line_begun_anew_is_its_end(
    start: Attempt, joined: bool
) -> None:
    ground = Ground(script(FERRY), told(PLAIN), sounding(PLAIN))
    line = attempt(1, 5, Span(2000, 3500), "vera", "waits")
    found = settling.one_start_each(ground, [line, start])
    assert [each.span for each in found] == ([Span(2000, 3900)] if joined else [line.span, start.span])


def test_a_line_missing_since_a_learners_reading_is_none_of_hers_stands_in_her_own_speech_alone() -> None:
    lines = script("The ferry leaves at seven.\nVera waits beside it.\nThe wind is cold.")
    said = """
        0.0  the ferry leaves at seven   2.0
        3.0  where a weights beside      5.0
        6.0  vera waits beside it        8.0
       10.0  the wind is cold           12.0
    """
    likely = {"where a weights beside": -20.0, "vera waits beside it": -2.0, "Vera waits beside it.": -4.0}
    ground = Ground(lines, told(said), sounding(said.replace("where a weights beside", "vera waits beside it ")), 150.0)
    ground = replace(ground, weigh=weighing(likely))
    spans = [Span(0, 2000), Span(10_000, 12_000)]
    attempts = tuple(
        Attempt(line, True, len(row), tuple(ReadWord(text, span, None) for text in row), (), 0.2, laid=True)
        for (line, row), span in zip(((0, lines.lines[0].spoken), (2, lines.lines[2].spoken)), spans, strict=True)
    )
    own, learners = (Unscripted(span, ground.heard_near(span)) for span in (Span(3000, 5000), Span(6000, 8000)))
    for theirs in (learners, Unscripted(Span(4500, 8000), learners.words)):  # it was laid on the end of hers, too
        found, talk = settling._with_hers_missing(ground, Settled(attempts, (own, theirs)), [own])
        assert [(each.line, each.span) for each in found][1] == (1, Span(3000, 5000))
        assert talk == [learners]


def test_a_reading_that_ends_in_another_word_takes_the_wordless_sound_that_follows_in_one_breath() -> None:
    """The script's word, which is shorter, was laid there."""
    hearing = told(PLAIN.replace("the water      3.5", "the water      3.5\n3.5  ...  3.9"))
    hearing = replace(hearing, speech=(*hearing.speech[:1], Span(2000, 3900), *hearing.speech[3:]))
    ground = Ground(script(FERRY), hearing, sounding(PLAIN))
    change = Change(4, 4, ("water",), ("harbourside",), support=20.0, confidence=0.9)
    talk = [Unscripted(Span(3500, 3900), ())]
    for changes, end_ms in (((change,), 3900), ((), 3500)):
        line = attempt(1, 5, Span(2000, 3500), changes=changes)
        (found,), left = settling.with_unread_ends(ground, [line], talk)
        assert (found.span.end_ms, left) == (end_ms, [] if changes else talk)


@pytest.mark.parametrize(
    ("heard", "behind", "end_ms"),
    [
        ("vera waits the water", "beside", 3900),
        ("vera sits the water", "beside", 3900),  # another word was misheard
        ("vera waits beside the water", "beside", 3500),  # it was there already
        ("vera waits the water", "slowly", 3500),  # it is none of the line's
        ("vera waits beside the", "waiter", 3900),  # the last one, nearly
        ("vera waits beside the", "window", 3500),
        ("vera waits beside the", "waiter now", 3500),
        ("", "beside", 3500),
    ],
)
def test_a_reading_takes_the_word_of_its_line_that_follows_in_one_breath(heard: str, behind: str, end_ms: int) -> None:
    """Its words were read in another order."""
    hearing = replace(told(PLAIN), speech=(Span(0, 1500), Span(2000, 3900)))
    ground = Ground(script(FERRY), hearing, sounding(PLAIN))
    line = attempt(1, 5, Span(2000, 3500), *heard.split())
    talk = Unscripted(Span(3500, 3900), tuple(HeardWord(word, Span(3500, 3900), 0.9) for word in behind.split()))
    (found,), left = settling.with_unread_ends(ground, [line], [talk])
    assert (found.span.end_ms, left) == (end_ms, [] if end_ms == 3900 else [talk])
