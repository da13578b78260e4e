"""A first script from what was heard."""

import random
import time
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.errors import ScriptError
from lessoncut.hearing.records import HeardWord
from lessoncut.script.draft import draft, said_sentences, spoken_twice
from lessoncut.script.records import Script
from lessoncut.times import Span, merged
from tests.script.samples import read

OPENING = "Hello and welcome. Today we compare two sounds."
PASSAGE = (
    "The wind was wild in the valley. Vera wore a warm vest. We went to the west wall at 7.30 a.m. "
    "Every van waited in the wood. Then the wind went away."
)
ENDING = "Well done, everyone. See you next week."


def spoken_take(*parts: str, pauses_ms: dict[int, int] | None = None) -> tuple[list[HeardWord], tuple[Span, ...]]:
    """Words of 300 ms each; after a stop 600 ms of silence, before part n its own pause."""
    words: list[HeardWord] = []
    at_ms = 500
    for number, part in enumerate(parts):
        at_ms += (pauses_ms or {}).get(number, 0)
        for text in part.split():
            words.append(HeardWord(text, Span(at_ms, at_ms + 280), 0.9))
            at_ms += 300 if text[-1] not in ".!?" else 900
    return words, merged((word.span for word in words), bridge_ms=50)


def drafted(*parts: str, pauses_ms: dict[int, int] | None = None) -> Script:
    words, speech = spoken_take(*parts, pauses_ms=pauses_ms)
    return read(".md", draft(words, speech, "My lesson"))


def outline(script: Script) -> list[tuple[str, bool, str]]:
    return [
        (section.title, section.passage, " ".join(line.text for line in script.lines if line.section == number))
        for number, section in enumerate(script.sections)
    ]


def test_the_passage_is_what_was_spoken_twice() -> None:
    script = drafted(OPENING, PASSAGE, "Now say each line after me.", PASSAGE, ENDING, pauses_ms={4: 3000})
    assert script.title == "My lesson"
    assert outline(script) == [
        ("Part 1", False, OPENING),
        ("Passage", True, PASSAGE),
        ("Part 2", False, "Now say each line after me."),
        ("Part 3", False, ENDING),
    ]
    assert [line.text for line in script.passage][2] == "We went to the west wall at 7.30 a.m."


def test_long_pauses_in_the_passage_make_no_section() -> None:
    repeat = PASSAGE.replace(". ", ".|").split("|")
    script = drafted(OPENING, *repeat, PASSAGE, ENDING, pauses_ms=dict.fromkeys(range(2, 1 + len(repeat)), 4000))
    assert [section for section, _, _ in outline(script)] == ["Part 1", "Passage", "Part 2"]
    assert outline(script)[1][2] == PASSAGE


def test_a_retake_a_false_start_and_a_slip_do_not_hide_it() -> None:
    model = PASSAGE.replace("Vera wore a warm vest.", "Vera wore. Vera wore a warm vest. Vera wore a warm vest.")
    repeat = PASSAGE.replace("wild", "wide").replace("Every van waited in the wood. ", "")
    script = drafted(OPENING, model, repeat, PASSAGE, ENDING)
    assert outline(script) == [("Part 1", False, OPENING), ("Passage", True, PASSAGE), ("Part 2", False, ENDING)]


def test_a_start_that_breaks_off_inside_a_sentence_is_said_once() -> None:
    model = PASSAGE.replace("Every van waited", "Every van waited, every van waited")
    assert outline(drafted(OPENING, model, "Now say each line after me.", PASSAGE))[1] == ("Passage", True, PASSAGE)


@pytest.mark.parametrize("pause_ms", [0, 500])
def test_one_word_said_twice_needs_a_pause_to_be_a_slip(pause_ms: int) -> None:
    words, speech = spoken_take("It is a very", "very old van.", pauses_ms={1: pause_ms})
    told = [sentence.text for sentence in said_sentences(words, speech)]
    assert told == (["It is a very old van."] if pause_ms else ["It is a very very old van."])


def test_what_she_says_about_a_slip_goes_with_it() -> None:
    model = PASSAGE.replace(
        "Vera wore a warm vest.", "Vera wore a. Warm vest. No, let me say that again. Vera wore a warm vest."
    )
    assert outline(drafted(OPENING, model, "Now you.", PASSAGE, ENDING))[1] == ("Passage", True, PASSAGE)


def test_two_lines_that_differ_in_one_sound_are_two_lines() -> None:
    pair = "I would like to see the vest. I would like to see the west. "
    assert outline(drafted(OPENING, pair + PASSAGE, "Now you.", pair + PASSAGE))[1] == ("Passage", True, pair + PASSAGE)
    assert "vest" not in outline(drafted(OPENING, pair))[0][2]


def test_a_line_is_worded_as_it_was_heard_more_surely() -> None:
    words, speech = spoken_take(OPENING, PASSAGE.replace("warm vest", "worn vest"), "Now you.", PASSAGE, ENDING)
    unsure = [replace(word, probability=0.3) if word.text == "worn" else word for word in words]
    assert outline(read(".md", draft(unsure, speech, "My lesson")))[1] == ("Passage", True, PASSAGE)


def test_a_speaking_that_was_given_up_is_no_part_of_the_script() -> None:
    lines = PASSAGE.replace(". ", ".|").split("|")
    script = drafted(OPENING, " ".join(lines[:3]), "Sorry.", PASSAGE, "Now you.", PASSAGE, ENDING)
    assert [text for _, passage, text in outline(script) if passage] == [PASSAGE]
    assert not any(line.text in lines for line in script.lines if not line.in_passage)


def test_a_pause_in_one_reading_ends_the_line_in_both() -> None:
    hurried = "The wind was wild in the valley and Vera wore a warm vest, then every van waited in the wood."
    slow = ("The wind was wild in the valley", "and Vera wore a warm vest", "then every van waited in the wood.")
    words, speech = spoken_take(hurried, "Now you.", *slow, pauses_ms={3: 1200, 4: 1200})
    (_, passage, text) = outline(read(".md", draft(words, speech, "My lesson")))[0]
    assert (passage, text) == (
        True, "The wind was wild in the valley. And Vera wore a warm vest. Then every van waited in the wood.",
    )  # fmt: skip


def test_a_capital_after_a_short_pause_begins_a_line_and_a_letter_does_not() -> None:
    words, speech = spoken_take(
        "turn left at the lights", "Turn right at the bank", "V and W.", pauses_ms={1: 400, 2: 400}
    )
    told = [sentence.text for sentence in said_sentences(words, speech)]
    assert told == ["turn left at the lights", "Turn right at the bank V and W."]


def test_no_passage() -> None:
    words, speech = spoken_take(OPENING, ENDING, pauses_ms={1: 3000})
    written = draft(words, speech, "")
    assert written.startswith("<!--\nThis first script was written from the recording itself.")
    assert "no part was heard twice" in written
    assert outline(read(".md", written)) == [("Part 1", False, OPENING), ("Part 2", False, ENDING)]


def test_words_without_speech_behind_them_are_left_out() -> None:
    words, speech = spoken_take("One two three.")
    stray = HeardWord("Thank", Span(9000, 9500), 0.9, voiced=0.1)
    assert outline(read(".md", draft([*words, stray], speech, "T"))) == [("Part 1", False, "One two three.")]


def test_a_long_pause_ends_a_line_that_has_no_stop() -> None:
    words, speech = spoken_take("vine and wine", "vest and west", pauses_ms={1: 1600})
    assert [sentence.text for sentence in said_sentences(words, speech)] == ["vine and wine", "vest and west"]


def test_markup_in_what_was_heard_is_text() -> None:
    words, speech = spoken_take("<b>one</b> *two* ==three== # four.")
    assert read(".md", draft(words, speech, "T")).lines[0].text == "<b>one</b> *two* ==three== four."


HEARD = st.text(max_size=12) | st.sampled_from(["Vera", "went.", "one. Two", "“", "...", "Mr.", "3.5", "—"])


@given(st.lists(st.tuples(HEARD, st.integers(0, 4000)), max_size=30))
def test_whatever_is_heard_gives_a_script_that_can_be_read(heard: list[tuple[str, int]]) -> None:
    at_ms, words = 0, []
    for text, pause_ms in heard:
        words.append(HeardWord(text, Span(at_ms + pause_ms, at_ms + pause_ms + 200), 0.5))
        at_ms += pause_ms + 200
    try:
        written = draft(words, merged(word.span for word in words), "T")
    except ScriptError as error:
        assert "no speech" in error.what
        return
    assert read(".md", written).lines


def test_nothing_heard() -> None:
    with pytest.raises(ScriptError, match="no speech was understood"):
        draft([], [], "T")


def test_spoken_twice_by_its_places() -> None:
    part = [f"w{n}" for n in range(20)]
    words = ["a", "b", *part, "c", *part[:9], "x", *part[10:], "d"]
    assert spoken_twice(words) == (range(2, 22), range(23, 43))
    assert spoken_twice(part) is None
    assert spoken_twice([]) is None


def test_three_speakings_are_the_first_two_or_later_ones_but_never_overlap() -> None:
    part = [f"w{n}" for n in range(20)]
    found = spoken_twice([*part, *part, *part])
    assert found is not None
    first, second = found
    assert len(first) == len(second) == 20
    assert first.stop <= second.start


def test_an_hour_of_words_is_quick() -> None:
    chosen = random.Random(5)
    vocabulary = [f"w{n}" for n in range(1500)]
    words = chosen.choices(vocabulary, k=9000)
    started = time.process_time()
    spoken_twice([*words, *words[2000:4000]])
    assert time.process_time() - started < 5
