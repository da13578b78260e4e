"""A line's first words that a recogniser hears as others are a start all the same."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import DEFAULT_SCORE, Ground
from lessoncut.matching.lay import Ask
from lessoncut.matching.misheard import (
    A_WORD,
    FAR_LIKELIER,
    HARDLY_LIKELIER,
    LESS_LIKELY,
    LESS_LIKELY_ALIKE,
    LIKELIER_DRAWN,
    LOWER_HERS,
    LOWER_UNLIKE,
    with_misheard_starts,
)
from lessoncut.matching.records import ReadWord
from lessoncut.matching.speakers import VoiceOf, nobody
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Begun, scoring, sounding, weighing
from tests.matching.test_examples import colours
from tests.matching.test_speakers import Colour

FERRY = "The ferry leaves at ten.\nWe'll be calling at both islands."
SAID = """
    0.0  the ferry leaves at ten            2.0
    3.0  we're here                         3.6
    4.0  we'll be calling at both islands   6.0
"""
REALLY = SAID.replace("we're here", "we'll be  ")
HEARD, BEGINNING, BEFORE = -9.0, "We'll be", "The ferry leaves at ten."


def started(
    log: float,
    *,
    said: str = SAID,
    ask: Ask = no_aligner,
    laid: bool | None = None,
    voice_of: VoiceOf = nobody,
    beginning: str = BEGINNING,
    again: float = -40.0,
    heard: float = HEARD,
) -> tuple[list[Attempt], list[Unscripted]]:
    """What becomes of the talk before the second line, when the line's first words are so likely there; ``again``: how
    likely the line before is; ``heard``: what was heard."""
    hearing = told(said)
    laid = ask is not no_aligner if laid is None else laid
    words = tuple(word for word in hearing.words if 3000 <= word.span.start_ms < 3600)
    text = " ".join(word.text for word in words)
    likely = weighing({text: heard, beginning: log, BEFORE: again})
    ground = Ground(script(FERRY), hearing, ask, 150.0, voice_of=voice_of, weigh=likely)
    spans = (Span(0, 2000), Span(4000, 6000))
    lines = [
        Attempt(line, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=laid)
        for line, (texts, span) in enumerate(zip(ground.spoken_words, spans, strict=True))
    ]
    return with_misheard_starts(ground, lines, [Unscripted(Span(3000, 3600), words)])


@pytest.mark.parametrize("ask", [no_aligner, sounding(REALLY)])
def test_talk_that_may_as_well_be_the_next_lines_beginning_is_a_start_of_it(ask: Ask) -> None:
    attempts, left = started(HEARD - LESS_LIKELY + 1, ask=ask)
    assert left == []
    start = attempts[1]
    assert (start.line, start.full, start.texts) == (1, False, ("we'll", "be"))
    assert [word.text for word in start.heard] == ["we're", "here"]
    assert start.span == Span(3000, 3600)


def test_who_breaks_off_once_may_do_so_again() -> None:
    """The talk stands before another start of the line."""
    hearing, spans = told(SAID.replace("at both islands   6.0", "  5.0")), (Span(3000, 3600), Span(4000, 5000))
    logs = {"we're here": HEARD, BEGINNING: HEARD}
    ground = Ground(script(FERRY), hearing, no_aligner, 150.0, weigh=weighing(logs))
    words = tuple(ReadWord(text, spans[1], None) for text in ("we'll", "be", "calling"))
    start = Attempt(1, False, 3, words, (), 0.2, laid=False)
    talk = Unscripted(spans[0], ground.heard_inside(spans[0]))
    attempts, left = with_misheard_starts(ground, [start], [talk])
    assert [(each.line, each.full, each.upto) for each in attempts] == [(1, False, 2), (1, False, 3)]
    assert left == []


@pytest.mark.parametrize(("log", "line", "upto"), [(HEARD - LESS_LIKELY + 1, 1, 2), (HEARD - LESS_LIKELY - 1, 0, 1)])
def test_a_start_of_another_line_may_be_the_next_ones_beginning(log: float, line: int, upto: int) -> None:
    hearing = told(SAID)
    ground = Ground(script(FERRY), hearing, no_aligner, 150.0, weigh=weighing({"we're here": HEARD, BEGINNING: log}))
    texts, span = ground.spoken_words[1], Span(3000, 3600)
    reading = tuple(ReadWord(text, Span(4000, 6000), None) for text in texts)
    strange = Attempt(0, False, 1, (ReadWord("the", span, None),), ground.heard_near(span), 1.4, laid=False)
    attempts, left = with_misheard_starts(
        ground, [strange, Attempt(1, True, len(texts), reading, (), 0.2, laid=False)], []
    )
    assert [(each.line, each.upto) for each in attempts] == [(line, upto), (1, len(texts))]
    assert left == []


@pytest.mark.parametrize(
    ("heard", "own", "lines"),
    [
        ("we're here", -40.0, [(1, 2), (1, 6)]),
        ("we're here", HEARD - FAR_LIKELIER - 0.5, [(1, 2), (1, 6)]),
        ("we're here", HEARD - FAR_LIKELIER + 0.5, [(0, 5), (1, 6)]),  # its own line may be likely enough
        ("the ferry leaves", -40.0, [(0, 5), (1, 6)]),  # which was heard
    ],
)
def test_a_reading_of_a_line_that_was_not_heard_may_be_the_next_ones_beginning(
    heard: str, own: float, lines: list[tuple[int, int]]
) -> None:
    hearing, span = told(SAID.replace("we're here", heard)), Span(3000, 3600)
    logs = {heard: HEARD, BEGINNING: HEARD, BEFORE: own}
    ground = Ground(script(FERRY), hearing, no_aligner, 150.0, weigh=weighing(logs))
    rows = [
        tuple(ReadWord(text, at, None) for text in texts)
        for texts, at in zip(ground.spoken_words, (span, Span(4000, 6000)), strict=True)
    ]
    words = (ground.heard_near(span), ())
    readings = [
        Attempt(line, True, len(row), row, said, 1.4, laid=False)
        for line, (row, said) in enumerate(zip(rows, words, strict=True))
    ]
    attempts, _ = with_misheard_starts(ground, readings, [])
    assert [(each.line, each.upto) for each in attempts] == lines


@pytest.mark.parametrize(("line", "lines"), [("A boat calls at both islands.", [0, 1]), ("At both islands.", [1, 1])])
def test_a_beginning_of_one_sound_does_not_stand_for_a_line(line: str, lines: list[int]) -> None:
    """It is likely of anything: "a" of "Ship, chip."."""
    hearing, span = told(SAID), Span(3000, 3200)
    beginning = line.split(maxsplit=1)[0]
    ground = Ground(script(f"Ship, chip.\n{line}"), hearing, no_aligner, 150.0, weigh=weighing({beginning: HEARD + 1}))
    rows = [
        tuple(ReadWord(text, at, None) for text in texts)
        for texts, at in zip(ground.spoken_words, (span, Span(4000, 6000)), strict=True)
    ]
    heard = (HeardWord("you", span, 0.5),)
    readings = [Attempt(at, True, len(row), row, heard, 1.4, laid=False) for at, row in enumerate(rows)]
    attempts, _ = with_misheard_starts(ground, readings, [])
    assert [each.line for each in attempts] == lines


def test_words_that_the_aligner_cannot_lay_were_not_said() -> None:
    assert started(HEARD, laid=False)[1] == []
    assert started(HEARD, laid=True)[1]


def test_talk_that_is_likelier_stays_talk() -> None:
    attempts, left = started(HEARD - LESS_LIKELY - 1)
    assert [attempt.full for attempt in attempts] == [True, True]
    assert len(left) == 1


def test_many_words_surely_heard_are_talk_though_fewer_are_hardly_less_likely() -> None:
    for said, least in (("we see a tall inn", HEARD), ("~we ~see ~a ~tall ~inn", HEARD - LESS_LIKELY)):
        many = SAID.replace("we're here", said)
        assert started(least + 0.5, said=many, beginning="We'll be calling")[1] == []
        assert started(least - 0.5, said=many, beginning="We'll be calling")[1]


@pytest.mark.parametrize(("heard", "log", "is_start"), [("great", HEARD, True), ("great", HEARD - 0.5, False)])
@pytest.mark.parametrize("surely", [True, False])
def test_other_words_surely_heard_are_talk_unless_the_beginning_is_as_likely(
    heard: str, log: float, is_start: bool, surely: bool
) -> None:
    said = SAID.replace("we're here", heard if surely else f"~{heard}")
    assert (started(log, said=said)[1] == []) == (is_start or not surely)


def test_what_a_learner_may_say_of_the_line_before_is_no_start() -> None:
    assert started(HEARD, again=HEARD - HARDLY_LIKELIER - 0.5)[1] == []
    assert started(HEARD, again=HEARD - HARDLY_LIKELIER + 0.5)[1]


def test_what_sounds_nearly_as_the_beginning_may_be_less_likely() -> None:
    alike = SAID.replace("we're here", "we'll bee ")
    assert started(HEARD - LESS_LIKELY_ALIKE + 1, said=alike)[1] == []
    assert started(HEARD - LESS_LIKELY_ALIKE - 1, said=alike)[1]


def test_what_nothing_is_likely_of_is_no_start() -> None:
    """A lozenge between the teeth was heard "From 190", at -30, and "Bicycles have" was likelier."""
    assert started(-A_WORD * 2 + 0.5, heard=-A_WORD * 2)[1] == []
    assert started(-A_WORD * 2 - 0.5, heard=-A_WORD * 2)[1]


@pytest.mark.parametrize(
    ("span", "words", "line"),
    [
        (Span(3000, 3200), "here", "Unbelievably bad weather."),  # too short for the first word
        (Span(3000, 5500), "here", "We'll be calling at both islands."),  # too long for a start
        (Span(200, 900), "here", "We'll be calling at both islands."),  # too far from the line
        (Span(3000, 3600), "", "We'll be calling at both islands."),  # nothing was heard
    ],
)
def test_what_has_not_the_time_or_stands_too_far_off_or_has_no_words_is_left(span: Span, words: str, line: str) -> None:
    ground = Ground(script(line), told(SAID), no_aligner, 150.0, weigh=weighing({}, 0.0))
    talk = Unscripted(span, tuple(HeardWord(word, span, 0.9) for word in words.split()))
    texts = ground.spoken_words[0]
    reading = tuple(ReadWord(text, Span(6000, 8000), None) for text in texts)
    attempt = Attempt(0, True, len(texts), reading, (), 0.2, laid=True)
    assert with_misheard_starts(ground, [attempt], [talk]) == ([attempt], [talk])


@pytest.mark.parametrize(
    ("heard", "lasts_ms", "by", "is_start"),
    [
        ("we'll", 900, 0.0, True),
        ("we'll", 1500, 0.0, False),
        ("wheel", 900, LIKELIER_DRAWN - 1, False),
        ("wheel", 900, LIKELIER_DRAWN, True),
        ("wheel", 1500, LIKELIER_DRAWN, False),
    ],
)
def test_a_word_that_is_or_is_likelier_the_lines_first_may_be_drawn_out(
    heard: str, lasts_ms: int, by: float, is_start: bool
) -> None:
    weigh = weighing({heard: HEARD, "We'll": HEARD + by}, HEARD - 50.0)
    hearing = told(f"3.0  {heard}  {3 + lasts_ms / 1000}\n6.0  we'll be calling at both islands  8.0")
    ground = Ground(script("We'll be calling at both islands."), hearing, no_aligner, 150.0, weigh=weigh)
    span, texts = Span(3000, 3000 + lasts_ms), ground.spoken_words[0]
    reading = tuple(ReadWord(text, Span(6000, 8000), None) for text in texts)
    line = Attempt(0, True, len(texts), reading, (), 0.2, laid=False)
    attempts, left = with_misheard_starts(ground, [line], [Unscripted(span, ground.heard_near(span))])
    assert (len(attempts), left == []) == ((2, True) if is_start else (1, False))


def test_another_voice_makes_no_start() -> None:
    assert started(HEARD, voice_of=colours(Span(4000, 6000)))[1]
    assert started(HEARD, voice_of=colours(Span(3000, 3600), Span(4000, 6000)))[1] == []


@pytest.mark.parametrize(
    ("apart", "lower", "heard", "is_start"),
    [
        (0.5, LOWER_HERS - 1, "we're here", True),
        (0.5, LOWER_HERS + 1, "we're here", False),
        (0.5, LOWER_UNLIKE - 1, "over there", True),
        (0.5, LOWER_UNLIKE + 1, "over there", False),
        (1.6, 5.0, "we're here", False),
        (1.6, -5.0, "we're here", True),
    ],
)
def test_the_sound_must_bear_the_words_the_more_the_less_it_is_her_voice_and_what_was_heard(
    apart: float, lower: float, heard: str, is_start: bool
) -> None:
    def voice_of(span: Span) -> Colour:
        return Colour(0.0 if span.start_ms < 3900 else apart)

    ask = scoring(lambda request, _: DEFAULT_SCORE - lower if request.line_id else DEFAULT_SCORE)
    said = SAID.replace("we're here", heard)
    assert (started(HEARD, said=said, ask=ask, voice_of=voice_of)[1] == []) is is_start


@pytest.mark.parametrize(("word", "talk"), [("no", ["no"]), ("~no", [])])
def test_what_is_surely_heard_behind_a_pause_behind_the_start_is_talk(word: str, talk: list[str]) -> None:
    said = SAID.replace("3.0  we're here                         3.6", f"3.0  we're here  3.4\n3.5  {word}  3.6")
    really = said.replace("we're here", "we'll be")
    attempts, left = started(HEARD, said=said, ask=sounding(really), heard=HEARD)
    assert [(each.line, each.full) for each in attempts] == [(0, True), (1, False), (1, True)]
    start = attempts[1]
    assert [word.text for word in start.heard] == ["we're", "here", *([] if talk else ["no"])]
    assert [[word.text for word in each.words] for each in left] == ([talk] if talk else [])


@pytest.mark.parametrize(
    ("heard", "nearer", "is_start"), [("we're here", 4, True), ("we're here", 5, False), ("so we'll be", 5, True)]
)
def test_what_sounds_more_like_half_of_the_other_lines_is_no_start(heard: str, nearer: int, is_start: bool) -> None:
    """Of ten lines so many begin more like the talk than its own does; but if all of its words were heard, they were
    said."""
    others = [
        f"{word} more." for word in ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
    ]
    text = "\n".join([*others, "We'll be calling at both islands."])
    hearing = told(SAID.replace("we're here ", heard))
    words = tuple(word for word in hearing.words if 3000 <= word.span.start_ms < 3600)
    likely = weighing({heard: HEARD, BEGINNING: HEARD})

    def begins(span: Span, readings: Sequence[Span]) -> tuple[Begun, ...]:
        assert span == Span(3000, 3600)
        return tuple(
            Begun(2.0 if each.start_ms == 4000 else 1.0 if each.start_ms <= nearer else 3.0) for each in readings
        )

    ground = Ground(script(text), hearing, no_aligner, 150.0, weigh=likely, begins=begins)
    spans = [*(Span(at + 1, at + 2) for at in range(10)), Span(4000, 6000)]
    lines = [
        Attempt(line, True, len(texts), tuple(ReadWord(text, span, None) for text in texts), (), 0.2, laid=False)
        for line, (texts, span) in enumerate(zip(ground.spoken_words, spans, strict=True))
    ]
    found, left = with_misheard_starts(ground, lines, [Unscripted(Span(3000, 3600), words)])
    assert len(found) - len(lines) == is_start
    assert len(left) == (not is_start)
