"""Starts, and lines' first sounds, that the voice activity network took for a noise."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest, HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.noises import (
    FURTHER,
    FURTHER_HEARD,
    FURTHER_WELL,
    HER_SPEECH,
    HER_VOICE,
    LEAST_OF_SOUND,
    LIKE_HERS,
    LOWER,
    LOWER_HEARD,
    LOWER_NOISE,
    WELL,
    lines_among_noises,
    starts_among_noises,
    with_first_sounds,
    without_noises,
)
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import CLEAR, Begun, sounding
from tests.matching.test_settle import PLAIN, attempts
from tests.matching.test_speakers import Colour

HEARD = PLAIN.replace("    6.5  we have", "    6.02  (a noise)  6.3\n    6.8  we have")
SAID = HEARD.replace("(a noise)", "we")


def one_voice(_: Span) -> Colour:
    return Colour(0.0)


def a_noise(span: Span) -> Colour:
    return Colour(3.0 if span.length_ms < 500 else 0.0)


@pytest.mark.parametrize(
    ("said", "voice_of", "is_start"),
    [(SAID, one_voice, True), (SAID, a_noise, False), (SAID.replace("  we  ", "  shoe  "), one_voice, False)],
)
def test_a_sound_in_her_voice_with_the_next_lines_first_words_on_it_is_a_start(
    said: str, voice_of: Callable[[Span], Colour], is_start: bool
) -> None:
    settled = settle(Ground(script(FERRY), told(HEARD), sounding(said), voice_of=voice_of))
    assert ((3, False, 6020) in attempts(settled)) == is_start
    assert len(settled.attempts) == (6 if is_start else 5)


@pytest.mark.parametrize(
    ("heard", "is_start"), [((), True), ((0.4,), True), ((0.9,), False), ((0.4, 0.4), True), ((0.4, 0.9), False)]
)
def test_speech_that_gave_two_unsure_words_at_most_is_no_better_than_a_noise(
    heard: tuple[float, ...], is_start: bool
) -> None:
    place = Span(6110, 6300)
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    ground = Ground(script(FERRY), told(PLAIN), sounding(SAID))
    left = [Unscripted(place, tuple(HeardWord("when", place, probability) for probability in heard))]
    found = starts_among_noises(replace(ground, voice_of=one_voice), lines, left)
    assert [(start.line, start.upto, start.full) for start in found] == ([(3, 1, False)] if is_start else [])


@pytest.mark.parametrize(
    ("first", "colour", "usual_score", "is_start"),
    [
        ("when", 1.5, CLEAR - 3, True),
        ("when", 1.5, CLEAR, False),  # so far from her voice it must be more like the word than usual
        ("when", 1.25, CLEAR, True),
        ("when", 1.25, CLEAR + LOWER_NOISE + 1, False),
        ("we", 1.25, CLEAR - 3, False),  # a cough is like a word of two sounds
        ("we", 1.1, CLEAR, True),
    ],
)
def test_a_noise_almost_in_her_voice_must_be_the_words_so_much_more_clearly(
    first: str, colour: float, usual_score: float, is_start: bool
) -> None:
    lines, plain = FERRY.replace("We have", f"{first.title()} have"), PLAIN.replace("we have", f"{first} have")
    heard = HEARD.replace("we have", f"{first} have")
    ground = Ground(script(lines), told(heard), sounding(heard.replace("(a noise)", first)), usual_score=usual_score)
    readings = settle(Ground(script(lines), told(plain), sounding(plain))).attempts

    def almost(span: Span) -> Colour:
        return Colour(colour if span.length_ms < 500 else 0.0)

    assert bool(starts_among_noises(replace(ground, voice_of=almost), readings, [])) == is_start


@pytest.mark.parametrize(
    ("own", "lower", "is_start"),
    [
        (FURTHER, LOWER - 1, True),
        (FURTHER + 0.01, LOWER - 1, False),  # as most lines begin
        (FURTHER_WELL, WELL, True),  # it lies well
        (FURTHER_WELL + 0.01, WELL, False),
    ],
)
def test_a_start_in_what_was_not_read_sounds_as_its_line_begins(own: float, lower: float, is_start: bool) -> None:
    """``own``: how far it is from that, where it is 1 from how all others begin; ``lower``: than usual it lies."""
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    begun = next(each for each in lines if each.line == 3)
    ground = Ground(
        script(FERRY),
        told(PLAIN),
        sounding(SAID),
        voice_of=one_voice,
        usual_score=CLEAR + lower,
        begins=lambda _, others: tuple(Begun(own if each == begun.span else 1.0) for each in others),
    )
    assert bool(starts_among_noises(ground, lines, [Unscripted(Span(6110, 6300), ())])) is is_start


@pytest.mark.parametrize(
    ("from_ms", "probability", "is_start"),
    [(6110, None, True), (6110, 0.3, True), (6110, 0.6, False), (6020, None, False)],
)
def test_what_nobody_can_read_before_a_line_is_its_start_in_her_voice(
    from_ms: int, probability: float | None, is_start: bool
) -> None:
    """However ill the line's words lie on it; but not what runs on from the reading before, nor a word half heard."""
    place = Span(from_ms, 6300)
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    assert lines[2].span.end_ms == 6000
    ground = Ground(script(FERRY), told(PLAIN), sounding(SAID), usual_score=CLEAR + LOWER_HEARD - 1)
    left = [Unscripted(place, () if probability is None else (HeardWord("duh", place, probability),))]
    assert bool(starts_among_noises(replace(ground, voice_of=one_voice), lines, left)) == is_start


@pytest.mark.parametrize(
    ("length_ms", "colour", "heard", "doubt", "score", "stays"),
    [
        (400, 0.5, 0.4, 2.2, CLEAR, True),
        (400, 2.4, 0.4, 2.2, CLEAR, False),  # a creak
        (400, 2.4, 0.9, 2.2, CLEAR, True),  # the word was surely heard
        (400, 2.4, 0.4, 1.0, CLEAR, True),  # there is little to doubt
        (200, 2.4, 0.4, 2.2, CLEAR, True),  # so short a sound does not tell a voice well
        (400, 0.5, 0.4, 2.2, CLEAR - 15, False),  # not what is said there
    ],
)
def test_a_doubtful_start_in_no_voice_of_hers_is_a_noise(
    length_ms: int, colour: float, heard: float, doubt: float, score: float, stays: bool
) -> None:
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    place = Span(6450 - length_ms, 6450)
    start = replace(
        lines[3],
        full=False,
        upto=1,
        words=(replace(lines[3].words[0], span=place),),
        heard=(HeardWord("uh", place, heard),),
        doubt=doubt,
        score=score,
    )
    ground = replace(Ground(script(FERRY), told(PLAIN), sounding(PLAIN)), usual_score=CLEAR)
    voice_of = {place: Colour(colour)}.get
    kept, noises = without_noises(
        replace(ground, voice_of=lambda span: voice_of(span) or Colour(0.0)), [*lines[:3], start, *lines[3:]]
    )
    assert (start in kept) == stays
    assert [talk.span for talk in noises] == ([] if stays else [place])


@pytest.mark.parametrize(("first", "is_start"), [("we", True), ("a", False)])
def test_a_noise_is_no_start_of_a_single_sound(first: str, is_start: bool) -> None:
    """Which a cough is like; speech is taken for one."""
    lines = FERRY.replace("We have", f"{first.title()} have")
    said = PLAIN.replace("we have", f"{first} have")
    noisy = said.replace(f"    6.5  {first}", f"    6.02  (a noise)  6.3\n    6.8  {first}")
    ask = sounding(noisy.replace("(a noise)", first))
    readings = settle(Ground(script(lines), told(said), sounding(said))).attempts
    place = Span(6110, 6300)
    ground = Ground(script(lines), told(noisy), ask)
    assert bool(starts_among_noises(replace(ground, voice_of=one_voice), readings, [])) == is_start
    assert starts_among_noises(replace(ground, voice_of=one_voice), readings, [Unscripted(place, ())])


@pytest.mark.parametrize("is_speech", [True, False])
def test_what_is_speech_may_be_further_from_her_voice(is_speech: bool) -> None:
    between = (HER_SPEECH + HER_VOICE) / 2
    lines = settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts
    ground = Ground(script(FERRY), told(PLAIN if is_speech else HEARD), sounding(SAID))
    left = [Unscripted(Span(6110, 6300), ())] if is_speech else []
    found = starts_among_noises(
        replace(ground, voice_of=lambda span: Colour(between if span.length_ms < 500 else 0.0)), lines, left
    )
    assert bool(found) == is_speech


@pytest.mark.parametrize(
    ("said", "voice_of", "is_line"),
    [("tickets", one_voice, True), ("tickets", a_noise, False), ("shoe", one_voice, False)],
)
def test_a_short_line_that_is_missing_is_found_in_a_sound_that_says_it(
    said: str, voice_of: Callable[[Span], Colour], is_line: bool
) -> None:
    lines = FERRY.replace("    We have", "    Tickets!\n    We have")
    take = PLAIN.replace("    6.5  we have", "    6.02  (a noise)  6.4\n    6.6  we have")
    settled = settle(Ground(script(lines), told(take), sounding(take.replace("(a noise)", said)), voice_of=voice_of))
    assert ((3, True, 6020) in attempts(settled)) == is_line
    assert len(settled.attempts) == (6 if is_line else 5)


@pytest.mark.parametrize("sound", ["(a noise)", "(laughter)"])
def test_laughter_holds_neither_a_line_nor_the_start_of_one(sound: str) -> None:
    lines = FERRY.replace("    We have", "    Tickets!\n    We have")
    take = PLAIN.replace("    6.5  we have", f"    6.02  {sound}  6.4\n    6.6  we have")
    settled = settle(Ground(script(lines), told(take), sounding(take.replace(sound, "tickets")), voice_of=one_voice))
    assert ((3, True, 6020) in attempts(settled)) == (sound == "(a noise)")
    heard = HEARD.replace("(a noise)", sound)
    settled = settle(Ground(script(FERRY), told(heard), sounding(SAID), voice_of=one_voice))
    assert ((3, False, 6020) in attempts(settled)) == (sound == "(a noise)")


@pytest.mark.parametrize(
    ("colour", "usual_score", "is_line"), [(2.0, CLEAR - 3, True), (2.0, CLEAR, False), (2.6, CLEAR - 3, False)]
)
def test_a_missing_line_may_be_further_from_her_voice_where_it_is_surely_its_words(
    colour: float, usual_score: float, is_line: bool
) -> None:
    """A word in noise, or called out, does not sound like the lines around it."""
    lines = script(FERRY.replace("    We have", "    Tickets!\n    We have"))
    take = PLAIN.replace("    6.5  we have", "    6.02  (a noise)  6.4\n    6.6  we have")
    ask = sounding(take.replace("(a noise)", "tickets"))
    readings = [each for each in settle(Ground(lines, told(take), ask, voice_of=a_noise)).attempts if each.full]
    assert len(readings) == 5
    ground = Ground(lines, told(take), ask, usual_score=usual_score)
    found = lines_among_noises(
        replace(ground, voice_of=lambda span: Colour(colour if span.length_ms < 500 else 0.0)), readings
    )
    assert [(line.line, line.full) for line in found] == ([(3, True)] if is_line else [])


@pytest.mark.parametrize(("heard", "is_start"), [("we", True), ("when", False)])
def test_where_the_line_s_first_words_were_heard_the_sound_may_speak_less_for_them(heard: str, is_start: bool) -> None:
    """The recogniser gave words said twice but once, and half of them at the first time."""
    place = Span(6110, 6300)
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts)
    lines[3] = replace(lines[3], heard=(HeardWord(heard, place, 0.9), *lines[3].heard[1:]))
    perfect = sounding(SAID)

    def poorly(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(
            replace(answer, words=tuple(replace(word, score=word.score - LOWER - 10) for word in answer.words))
            for answer in perfect(requests)
        )

    assert LOWER + 10 < LOWER_HEARD
    ground = Ground(script(FERRY), told(PLAIN), poorly, usual_score=-20.0)
    found = starts_among_noises(
        replace(ground, voice_of=one_voice), lines, [Unscripted(place, (HeardWord("uh", place, 0.6),))]
    )
    assert [(start.line, start.upto) for start in found] == ([(3, 1)] if is_start else [])


@pytest.mark.parametrize(
    ("probability", "like", "is_start"),
    [
        (0.9, FURTHER_HEARD - 0.01, True),
        (0.9, FURTHER_HEARD + 0.01, False),
        (0.5, FURTHER_HEARD - 0.01, False),
        (0.5, FURTHER - 0.01, True),
    ],
)
def test_where_they_were_surely_heard_it_need_not_sound_so_much_as_the_line_begins(
    probability: float, like: float, is_start: bool
) -> None:
    place = Span(6110, 6300)
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts)
    lines[3] = replace(lines[3], heard=(HeardWord("we", place, probability), *lines[3].heard[1:]))

    def begins(_: Span, readings: Sequence[Span]) -> tuple[Begun, ...]:
        return tuple(Begun(like if each == lines[3].span else 1.0) for each in readings)

    ground = Ground(script(FERRY), told(PLAIN), sounding(SAID), usual_score=CLEAR + WELL + 1, begins=begins)
    found = starts_among_noises(replace(ground, voice_of=one_voice), lines, [Unscripted(place, ())])
    assert bool(found) is is_start


@pytest.mark.parametrize(("share", "is_start"), [(LEAST_OF_SOUND + 0.02, True), (LEAST_OF_SOUND - 0.02, False)])
def test_a_sound_of_which_the_words_take_up_little_is_a_cough(share: float, is_start: bool) -> None:
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts)
    place = Span(6110, 6410)

    def laid_short(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        short = Span(place.start_ms, place.start_ms + round(share * place.length_ms))
        return tuple(
            Alignment(request, (AlignedWord("we", short, CLEAR),) if request.words == ("we",) else ())
            for request in requests
        )

    def begins(_: Span, readings: Sequence[Span]) -> tuple[Begun, ...]:
        return tuple(Begun(FURTHER / 2 if each == lines[3].span else 1.0) for each in readings)

    ground = Ground(script(FERRY), told(PLAIN), laid_short, usual_score=CLEAR, voice_of=one_voice, begins=begins)
    assert bool(starts_among_noises(ground, lines, [Unscripted(place, ())])) is is_start


@pytest.mark.parametrize(("breaks", "is_start"), [((Span(6780, 6950),), True), ((), False)])
def test_a_start_in_one_breath_with_the_line_is_found_where_a_moment_of_room_tone_parts_them(
    breaks: tuple[Span, ...], is_start: bool
) -> None:
    said = PLAIN.replace("6.5  we have five minutes left        8.0", "6.5  we  7.0  we have five minutes left  8.5")
    said = said.replace("8.5  the river is wide and very cold  10.5", "9.0  the river is wide and very cold  11.0")
    hearing = replace(told(said), breaks=breaks)
    lines = settle(Ground(script(FERRY), told(said.replace("6.5  we  7.0", "7.0")), sounding(said))).attempts
    found = starts_among_noises(Ground(script(FERRY), hearing, sounding(said), voice_of=one_voice), lines, [])
    assert [(start.line, start.full, start.span.start_ms) for start in found] == ([(3, False, 6500)] * is_start)


@pytest.mark.parametrize(("doubt", "start_ms"), [(2.0, 6500), (0.5, 6800)])
def test_a_doubtful_line_gets_the_sound_before_it_where_its_words_lie_far_better_on_both(
    doubt: float, start_ms: int
) -> None:
    said = PLAIN.replace("6.5  we have", "6.5  we  6.8  have")
    heard = PLAIN.replace("    6.5  we have", "    6.5  (a noise)  6.8\n    6.8  have")
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(said))).attempts)
    words = (replace(lines[3].words[0], span=Span(6800, 6900)), *lines[3].words[1:])
    lines[3] = replace(lines[3], words=words, doubt=doubt, score=-40.0)
    ground = Ground(script(FERRY), told(heard), sounding(said))
    assert with_first_sounds(replace(ground, voice_of=one_voice), lines)[3].span.start_ms == start_ms


@pytest.mark.parametrize(("first_heard", "start_ms"), [("have", 6500), ("we", 6780)])
def test_a_sound_that_reaches_into_a_line_without_its_first_word_may_be_it(first_heard: str, start_ms: int) -> None:
    """Though nothing else speaks against the line as it is."""
    said = PLAIN.replace("6.5  we have", "6.5  we  6.8  have")
    heard = PLAIN.replace("    6.5  we have", f"    6.5  (a noise)  6.9\n    6.9  {first_heard}")
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(said))).attempts)
    words = (replace(lines[3].words[0], span=Span(6780, 6900)), *lines[3].words[1:])
    of_line = tuple(word for word in told(heard).words if lines[3].span.overlap_ms(word.span))
    lines[3] = replace(lines[3], words=words, doubt=0.0, score=-40.0, heard=of_line)
    ground = Ground(script(FERRY), told(heard), sounding(said))
    assert with_first_sounds(replace(ground, voice_of=one_voice), lines)[3].span.start_ms == start_ms


def test_a_sound_that_reaches_into_a_doubtful_line_may_be_its_first_one() -> None:
    said = PLAIN.replace("6.5  we have", "6.5  we  6.8  have")
    heard = PLAIN.replace("    6.5  we have", "    6.5  (a noise)  6.9\n    6.9  have")
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(said))).attempts)
    words = (replace(lines[3].words[0], span=Span(6780, 6900)), *lines[3].words[1:])
    lines[3] = replace(lines[3], words=words, doubt=2.0, score=-40.0)
    ground = Ground(script(FERRY), told(heard), sounding(said))
    assert with_first_sounds(replace(ground, voice_of=one_voice), lines)[3].span.start_ms == 6500
    # A page that is turned is far from her voice.
    page = Colour(LIKE_HERS + 0.5), Colour(0.0)
    assert (
        with_first_sounds(replace(ground, voice_of=lambda span: page[span.start_ms > 6500]), lines)[3].span.start_ms
        == 6780
    )


@pytest.mark.parametrize(("rest_from", "start_ms"), [("7.1", 6500), ("7.4", 7400)])
def test_a_first_word_taken_for_a_noise_may_stand_a_commas_pause_before_the_rest(rest_from: str, start_ms: int) -> None:
    (old,) = (row for row in PLAIN.splitlines() if "we have" in row)
    said = PLAIN.replace(old, f"6.5  we  6.8\n{rest_from}  have five minutes left  8.4")
    heard = said.replace("6.5  we  6.8", "6.5  (a noise)  6.8")
    lines = list(settle(Ground(script(FERRY), told(PLAIN), sounding(PLAIN))).attempts)
    from_ms = round(1000 * float(rest_from))
    marks = [from_ms + at * (8400 - from_ms) // 5 for at in range(6)]
    words = tuple(replace(word, span=Span(*row)) for word, row in zip(lines[3].words, pairwise(marks), strict=True))
    of_line = tuple(word for word in told(heard).words if word.span.start_ms in range(from_ms, 8400))
    lines[3] = replace(lines[3], words=words, doubt=0.0, score=-40.0, heard=of_line)
    ground = Ground(script(FERRY), told(heard), sounding(said))
    assert with_first_sounds(replace(ground, voice_of=one_voice), lines)[3].span.start_ms == start_ms
