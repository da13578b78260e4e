"""Who breaks off begins anew; who does not has read the line, or talks about it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted, evenly
from lessoncut.matching.ground import Ground
from lessoncut.matching.not_anew import AT_ONCE_MS, SURE, with_words_left_out, without_starts_of_nothing
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring, sounding
from tests.matching.test_speakers import Colour

DOUGH = """
    Let it stand beside the oven.
    I rested for ninety minutes as well.
    Then we cut it into five.
"""
SAID = """
    0.0  let it stand beside the oven     1.8
    4.0  i rested for ninety minutes      5.8
    8.0  then we cut it into five         9.6
"""


def told_of(heard: str, said: str | None = None) -> list[tuple[int, bool, tuple[tuple[str, ...], ...]]]:
    settled = settle(Ground(script(DOUGH), told(heard), sounding(said or heard)))
    return [(each.line, each.full, tuple(change.heard for change in each.changes)) for each in settled.attempts]


@pytest.mark.parametrize("heard", ["i rested for ninety minutes", "~i rested for ninety minute"])
def test_a_line_without_its_last_words_that_is_not_begun_anew_is_misread(heard: str) -> None:
    told_so = SAID.replace("i rested for ninety minutes", heard)
    assert told_of(told_so, SAID) == [(0, True, ()), (1, True, (("minutes",),)), (2, True, ())]


def test_a_line_whose_last_word_was_surely_heard_is_all_of_it() -> None:
    """Though words in its midst were left out, so that it lies as a start."""
    ground = Ground(script(DOUGH), told("4.0  i rested as well  5.2"), scoring(lambda *_: -20.0), 200.0)
    span = Span(4000, 5200)
    words = tuple(ReadWord(text, span, None) for text in ("i", "rested", "for"))
    start = Attempt(1, False, 3, words, ground.hearing.words, 1.8, laid=True)
    (line,) = with_words_left_out(ground, [start], [])
    assert (line.full, line.heard, line.changes) == (True, start.heard, ())
    unsure = replace(start, heard=tuple(replace(word, probability=SURE - 0.1) for word in start.heard))
    assert with_words_left_out(ground, [unsure], []) == [unsure]
    nowhere = replace(ground, align=no_aligner)
    assert with_words_left_out(nowhere, [start], []) == [start]


@pytest.mark.parametrize(
    "said",
    [
        SAID.replace("i rested for ninety minutes      5.8", "i rested                         4.6"),  # too little
        SAID.replace(
            "ninety minutes      5.8", "ninety minutes  5.4\n6.4  oh dear where was i  7.4"
        ),  # and she says so
        SAID.replace("8.0  then", "6.6  i rested for ninety minutes as well  7.8\n8.2  then"),  # it is begun anew
    ],
)
def test_what_was_broken_off_is_a_start(said: str) -> None:
    assert (1, False, ()) in told_of(said)


TOLD_MORE = """
    0.0  let it stand beside the oven              1.8
    3.0  let it stand as long as you possibly can  5.2
    7.0  i rested for ninety minutes as well       9.2
   11.0  then we cut it into five                 12.6
"""


@pytest.mark.parametrize(
    ("said", "starts"),
    [
        (TOLD_MORE, 0),
        (TOLD_MORE.replace("stand as", "stand  3.7\n4.2  as"), 0),
        (
            TOLD_MORE.replace("as long as you possibly can  5.2", "                             3.7"),
            0,
        ),  # a learner perhaps
        (TOLD_MORE.replace("7.0  i rested", "5.5  let it stand beside the oven  6.7\n7.0  i rested"), 1),  # begun anew
        (TOLD_MORE.replace("    0.0  let it stand beside the oven              1.8\n", ""), 1),  # not read before
    ],
)
def test_what_is_not_begun_anew_behind_its_line_is_talk(said: str, starts: int) -> None:
    settled = settle(Ground(script(DOUGH), told(said), sounding(said)))
    assert sum(not attempt.full for attempt in settled.attempts) == starts
    words = [word.text for talk in settled.unscripted for word in talk.words]
    assert starts or words[:3] == ["let", "it", "stand"]


def test_who_goes_back_behind_a_start_has_begun_anew() -> None:
    """Further up, even."""
    ground = Ground(script(DOUGH), told(SAID), no_aligner)
    words = (ReadWord("i", Span(0, 900), None),)
    line = Attempt(1, True, 1, words, (), 0.2, laid=True)
    start = Attempt(1, False, 1, words, (), 0.2, laid=True)
    for following, stays in (([], False), ([replace(line, line=2)], False), ([replace(line, line=0)], True)):
        attempts = [line, start, *following]
        found, talk = without_starts_of_nothing(ground, attempts, [])
        assert (found == attempts) is stays
        assert talk == ([] if stays else [Unscripted(start.span, ())])


CHICKENS = """
    He talked about his chickens.
    He talked about his children.
"""


@pytest.mark.parametrize(
    ("behind", "starts"),
    [
        ("them for an hour  6.0", 0),
        ("  4.4\n5.0  them for an hour  6.0", 1),  # a pause parts them
    ],
)
def test_talk_that_begins_as_the_line_just_read_and_the_next_is_no_start(behind: str, starts: int) -> None:
    said = f"""
        0.0  he talked about his chickens   2.0
        3.0  he talked about {behind}
        8.0  he talked about his children  10.0
    """
    settled = settle(Ground(script(CHICKENS), told(said), sounding(said)))
    assert [(each.line, each.full) for each in settled.attempts] == [(0, True), *[(1, False)] * starts, (1, True)]


def test_the_line_itself_may_follow_its_start_in_one_breath() -> None:
    said = "0.0  he talked about his chickens  2.0\n3.0  he talked about  3.9\n3.9  he talked about his children  5.9"
    heard = told(said)
    hearing = replace(heard, speech=(heard.speech[0], Span(3000, 5900)))
    settled = settle(Ground(script(CHICKENS), hearing, sounding(said)))
    assert [(each.line, each.full) for each in settled.attempts] == [(0, True), (1, False), (1, True)]


@pytest.mark.parametrize(("heard", "misread"), [("~then ~up ~to ~the ~leaf", True), ("oh dear where was i", False)])
def test_talk_that_nobody_could_read_does_not_say_that_she_broke_off(heard: str, misread: bool) -> None:
    """As a learner's voice in the pause."""
    ground = Ground(script(DOUGH), told(f"4.0  i rested for ninety minutes  5.8\n6.4  {heard}  7.4"), sounding(SAID))
    words, behind = (ground.heard_inside(span) for span in (Span(4000, 5800), Span(6400, 7400)))
    texts = ground.spoken_words[1][:5]
    start = Attempt(1, False, 5, evenly(texts, Span(4000, 5800)), words, 0.5, laid=True)
    answering = replace(ground, align=scoring(lambda *_: -20.0))
    (found,) = with_words_left_out(answering, [start], [Unscripted(Span(6400, 7400), behind)])
    assert (found.full, bool(found.changes)) == (misread, misread)


ECHOED = """
    0.0  let it stand beside the oven          1.8
    2.2  let it stand beside the oven          4.0
    5.0  then we cut it into five              6.6
    7.0  then we cut it into five              8.6
   10.0  the knife has to be cold             11.6
   12.0  the knife has to be cold             13.6
   15.0  i rested for ninety minutes          16.8
   17.2  i rested for ninety minutes as well  19.4
   21.0  nobody came to help                  22.6
   23.0  nobody came to help                  24.6
"""
BREAD = """
    Let it stand beside the oven.
    Then we cut it into five.
    The knife has to be cold.
    I rested for ninety minutes as well.
    Nobody came to help.
"""


def test_a_line_that_only_a_learner_says_whole_is_not_begun_anew() -> None:
    """Her reading without its end is no start, though somebody else says all of the line behind it."""
    spans = told(ECHOED).speech
    theirs = spans[1::2]

    def voice_of(span: Span) -> Colour:
        return Colour(3.0 if any(span.overlap_ms(echo) > span.length_ms / 2 for echo in theirs) else 0.0)

    settled = settle(Ground(script(BREAD), told(ECHOED), sounding(ECHOED), voice_of=voice_of))
    assert [(each.line, each.full) for each in settled.attempts] == [(line, True) for line in range(5)]
    assert [change.heard for change in settled.attempts[3].changes] == [("minutes",)]


@pytest.mark.parametrize(
    ("before", "behind", "is_start"),
    [
        (None, 0, False),
        (None, 1, True),
        (None, 2, True),
        (None, 3, True),
        (1, 0, True),
        (0, 4, False),
        (4, 4, False),
        (None, None, True),
    ],
)
def test_a_start_far_from_where_its_line_is_read_is_talk(
    before: int | None, behind: int | None, is_start: bool
) -> None:
    """ "Yes, it is." at the very beginning begins no "It is about two vowels."; but who restarts the passage has broken
    off where she was."""
    ground = Ground(script(BREAD), told(""), sounding(""))
    rows = ground.spoken_words
    start = Attempt(2, False, 1, evenly(rows[2][:1], Span(3000, 3400)), (), 0.5, laid=True)
    around = [
        Attempt(line, True, len(rows[line]), evenly(rows[line], span), (), 0.2, laid=True) if line is not None else None
        for line, span in ((before, Span(0, 2000)), (behind, Span(5000, 7000)))
    ]
    attempts = [each for each in (around[0], start, around[1]) if each]
    found, left = without_starts_of_nothing(ground, attempts, [])
    assert (start in found) == is_start
    assert left == ([] if is_start else [Unscripted(start.span, ())])


@pytest.mark.parametrize(
    ("heard", "gap_ms", "anew", "misread"),
    [
        ("cross", 100, False, True),
        ("cross", AT_ONCE_MS, False, False),  # who pauses says something else
        ("very cross", 100, False, False),  # not as many words
        ("sorry", 100, False, False),  # she corrects herself
        ("cross", 100, True, False),  # the line is begun anew
    ],
)
def test_a_word_that_goes_on_from_a_line_not_begun_anew_is_its_last_one_misread(
    heard: str, gap_ms: int, anew: bool, misread: bool
) -> None:
    """ "The knife has to be cold" read "the knife has to be cross"."""
    first_s, last_s = (4800 + gap_ms) / 1000, (5300 + gap_ms) / 1000
    hearing = told(f"3.0  the knife has to be  4.8\n{first_s}  {heard}  {last_s}")
    ground = Ground(script(BREAD), hearing, scoring(lambda *_: -20.0), 200.0)
    texts = ground.spoken_words[2]
    begun, behind = (ground.heard_inside(span) for span in (Span(3000, 4800), Span(4800, 6000)))
    start = Attempt(2, False, 5, evenly(texts[:5], Span(3000, 4800)), begun, 0.5, laid=True)
    again = Attempt(2 if anew else 3, True, len(texts), evenly(texts, Span(8000, 10_000)), (), 0.2, laid=True)
    talk = Unscripted(Span(4800 + gap_ms, 5300 + gap_ms), behind)
    found, rest = with_words_left_out(ground, [start, again], [talk])
    assert rest == again
    assert found.full == misread
    if misread:
        assert [(change.script, change.heard) for change in found.changes] == [(("cold",), ("cross",))]
        assert found.span.overlap_ms(talk.span) == talk.span.length_ms
        assert [word.text for word in found.heard] == ["the", "knife", "has", "to", "be", "cross"]
