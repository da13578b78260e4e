"""From a hearing written by hand to what the teacher is asked."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from lessoncut.hearing.records import Hearing, Sound
from lessoncut.hearing.told import told
from lessoncut.matching.findings import Finding, find
from lessoncut.matching.findings.rule import LEAST_UNREAD_MS
from lessoncut.matching.findings.stray_sound import (
    LEAST_OVER_DB,
    SHORT_MS,
    UNDER_SPEECH_DB,
    VERY_SHORT_MS,
)
from lessoncut.matching.ground import Ground
from lessoncut.matching.match import match, words_within
from lessoncut.matching.records import Aside, Change, Match, ReadWord
from lessoncut.matching.speakers import VoiceOf
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding
from tests.matching.test_speakers import Colour

near = partial(pytest.approx, abs=30)
"""Edges on levels are smoothed, and a voice goes on a little under the room."""

SCRIPT = script(FERRY, "Welcome to the lesson.", "See you next time.")


LOOSE_MS = 150
"""So much later a line may end that ends all at once, as none does that is spoken."""


def levels_of(hearing: Hearing) -> Levels:
    band = np.full(hearing.duration_ms // HOP_MS, -65.0, dtype=np.float32)
    for span in (*hearing.speech, *(sound.span for sound in hearing.sounds)):
        band[span.start_ms // HOP_MS : span.end_ms // HOP_MS] = -22.0
    return Levels(band, np.maximum(band - 15, -65.0))


def what_happened(
    heard: str, said: str | None = None, voice_of: VoiceOf = lambda _: None
) -> tuple[Match, tuple[Finding, ...]]:
    hearing = told(heard)
    found = match(Ground(SCRIPT, hearing, sounding(said or heard), voice_of=voice_of), levels_of(hearing))
    return found, find(SCRIPT, hearing, found)


CLEAN = """
    0.0  welcome to the lesson            1.5
    2.5  the ferry leaves at seven        4.0
    4.5  vera waits beside the water      6.0
    6.5  a woman waves from the window    8.5
    9.0  we have five minutes left       10.5
   11.0  the river is wide and very cold  13.0
   15.0  the ferry leaves at seven       16.5
   19.0  vera waits beside the water     20.5
   23.0  a woman waves from the window   25.0
   28.0  we have five minutes left       29.5
   32.0  the river is wide and very cold  34.0
   37.0  see you next time               38.5
"""


def test_a_clean_take_asks_nothing() -> None:
    found, findings = what_happened(CLEAN)
    assert findings == ()
    assert [(item.id, item.kind) for item in found.passes] == [("P1", "model"), ("P2", "repeat")]
    assert [reading.kept for reading in found.readings] == [True] * 12
    assert found.script_share == 1.0


def test_a_breath_is_no_part_of_the_reading_but_of_its_cut() -> None:
    """A hole of 60 ms stands between it and the line."""
    breath = Span(18_740, 18_940)
    hearing = replace(told(CLEAN), breaths=(breath,))
    levels = levels_of(hearing)
    for band in (levels.voice_db, levels.hiss_db):
        band[breath.start_ms // HOP_MS : breath.end_ms // HOP_MS] = -48.0
    found = match(Ground(SCRIPT, hearing, sounding(CLEAN), voice_of=lambda _: None), levels)
    [reading] = [reading for reading in found.readings if abs(reading.span.end_ms - 20_500) < 300]
    assert reading.span.start_ms == near(19_000)
    assert reading.cut.start_ms < breath.start_ms
    assert find(SCRIPT, hearing, found) == ()


def test_words_said_twice_in_a_line_are_told_as_such_and_the_line_is_kept() -> None:
    found, _ = what_happened(CLEAN)
    kept = found.readings[2]
    twice = ("waits", "beside")
    change = Change(1, 2, twice, twice * 2, support=8.0, confidence=0.85)
    readings = (*found.readings[:2], replace(kept, changes=(change,)), *found.readings[3:])
    (finding,) = find(SCRIPT, told(CLEAN), replace(found, readings=readings))
    assert (finding.kind, finding.line_id) == ("misread", kept.line_id)
    assert finding.says == "In “Vera waits beside the water.” at 0:04.8, “waits beside” is said twice in a row."


@pytest.mark.parametrize(
    ("first", "script", "heard", "says"),
    [
        (1, ("waits", "beside"), ("beside",), "“waits” is left out"),
        (1, ("waits",), ("waits", "calmly"), "“calmly” is put in"),
        (2, ("beside",), ("calmly", "beside"), "“calmly” is put in"),
        (1, ("waits", "beside"), ("beside", "waits"), "“beside waits” is heard where the script has “waits beside”"),
        (1, ("waits",), ("stands",), "“stands” is heard where the script has “waits”"),
    ],
)
def test_a_misreading_says_what_was_done(
    first: int, script: tuple[str, ...], heard: tuple[str, ...], says: str
) -> None:
    found, _ = what_happened(CLEAN)
    kept = found.readings[1]
    change = Change(first, first + len(script) - 1, script, heard, support=8.0, confidence=0.85)
    readings = (found.readings[0], replace(kept, changes=(change,)), *found.readings[2:])
    (finding,) = find(SCRIPT, told(CLEAN), replace(found, readings=readings))
    assert finding.says.endswith(f", {says}.")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            "Vera waits beside the water.",
            "“Vera waits beside the water.” is said once more at 0:07.0, by somebody else",
        ),
        ("Shall we stop here?", "“Shall we stop here?” is said at 0:07.0; the script does not have it."),
    ],
)
def test_what_repeats_the_line_before_is_told_as_somebody_elses(words: str, says: str) -> None:
    found, _ = what_happened(CLEAN)
    readings = [each for each in found.readings if each.line_id == "L003"][:1]
    aside = Aside(Span(7000, 8500), tuple(words.split()))
    findings = find(SCRIPT, told(CLEAN), replace(found, readings=tuple(readings), asides=(aside,)))
    (told_of,) = [each.says for each in findings if each.kind == "ad_lib"]
    assert told_of.startswith(says)


@pytest.mark.parametrize(("longer_ms", "kind"), [(-1, "stray_sound"), (0, "ad_lib")])
def test_what_nobody_can_read_is_a_noise_unless_it_is_long(longer_ms: int, kind: str) -> None:
    """A laugh looks like speech."""
    found, _ = what_happened(CLEAN)
    aside = Aside(Span(7000, 7000 + LEAST_UNREAD_MS + longer_ms), ())
    findings = find(SCRIPT, told(CLEAN), replace(found, asides=(aside,)))
    assert [each.kind for each in findings if each.span == aside.span] == [kind]


def test_a_line_said_twice_keeps_the_last() -> None:
    twice = CLEAN.replace(
        "19.0  vera waits beside the water     20.5",
        "17.0  vera waits beside the water     18.5\n   19.0  vera waits beside the water     20.5",
    )
    found, (finding,) = what_happened(twice)
    assert (finding.kind, finding.line_id, finding.pass_id) == ("repeated_line", "L003", "P2")
    assert finding.span.start_ms == near(17_000)
    assert [choice.name for choice in finding.choices] == ["keep_last", "keep_earlier", "keep_both"]
    kept = found.kept("L003", "P2")
    assert kept is not None
    assert kept.span.start_ms == near(19_000)


def test_a_start_that_was_taken_for_a_noise_is_no_noise_as_well() -> None:
    heard = CLEAN.replace("   19.0  vera", "   18.3  (a noise)  18.6\n   19.0  vera")
    _, findings = what_happened(heard, heard.replace("(a noise)", "vera"), lambda _: Colour(0.0))
    assert [(finding.kind, finding.line_id) for finding in findings] == [("false_start", "L003")]
    _, findings = what_happened(heard, heard, lambda _: Colour(0.0))
    assert [finding.kind for finding in findings] == ["stray_sound"]


def test_a_line_that_was_taken_for_a_noise_is_neither_missing_nor_a_noise() -> None:
    heard = CLEAN.replace("28.0  we have five minutes left", "28.0  (a noise)")
    found, findings = what_happened(heard, CLEAN, lambda _: Colour(0.0))
    assert found.kept("L005", "P2") is not None
    assert findings == ()
    _, findings = what_happened(heard, heard, lambda _: Colour(0.0))
    assert {finding.kind for finding in findings} == {"dropped_line", "stray_sound"}


def test_a_line_that_was_taken_for_a_noise_is_found_beside_a_missing_one() -> None:
    said = CLEAN.replace("   32.0  the river is wide and very cold  34.0\n", "")
    found, findings = what_happened(
        said.replace("28.0  we have five minutes left", "28.0  (a noise)"), said, lambda _: Colour(0.0)
    )
    assert found.kept("L005", "P2") is not None
    assert [(finding.kind, finding.line_id) for finding in findings] == [("dropped_line", "L006")]


@pytest.mark.parametrize(("pause_ms", "kind"), [(1300, "model"), (1600, "repeat")])
def test_the_pauses_that_tell_a_lone_pass_begin_where_the_room_has_died_away(pause_ms: int, kind: str) -> None:
    """Its lines are laid where she speaks, and the speech that is found reaches 0.3 s further."""
    lines = [" ".join(row.split()[1:-1]) for row in CLEAN.strip().splitlines()[1:6]]
    heard, said = [], []
    for at, line in enumerate(lines):
        start_s = 2.0 + at * (1.8 + pause_ms / 1000)
        heard.append(f"{start_s:.2f}  {line}  {start_s + 1.8:.2f}")
        said.append(f"{start_s:.2f}  {line}  {start_s + 1.5:.2f}")
    found, _ = what_happened("\n".join(heard), "\n".join(said))
    assert [each.kind for each in found.passes] == [kind]


@pytest.mark.parametrize(
    ("sound", "says"), [("(laughter)", "What sounds like laughter"), ("(a noise)", "A sound that is not speech")]
)
def test_a_sound_that_is_like_laughter_is_called_so(sound: str, says: str) -> None:
    (finding,) = find(SCRIPT, told(f"90.0  {sound}  91.0"), Match((), (), (), 1.0))[-1:]
    assert (finding.kind, finding.says) == ("stray_sound", f"{says} at 1:30.0.")


@pytest.mark.parametrize(("speech_from", "is_speech"), [("9.2", True), ("9.6", False)])
def test_the_first_sounds_of_a_word_are_no_stray_sound(speech_from: str, is_speech: bool) -> None:
    """The network that tells speech took the line's first word for a noise, right before the speech it knows."""
    said = CLEAN.replace("9.0  we have", "8.9  we  9.6  have")
    heard = CLEAN.replace("    9.0  we have", f"    8.9  (a noise)  9.2\n    {speech_from}  we have")
    _, findings = what_happened(heard, said)
    assert [finding.kind for finding in findings] == ([] if is_speech else ["stray_sound"])


@pytest.mark.parametrize(("word_upto_ms", "is_word"), [(7600, True), (7450, False)])
def test_a_word_that_stands_by_itself_in_a_line_is_no_stray_sound(word_upto_ms: int, is_word: bool) -> None:
    """As "m" does in "2 p... m"; a cough in which a word was laid for a moment is one."""
    heard = "4.5  vera waits  5.5\n7.4  (a noise)  7.8\n8.6  beside the water  10.0"
    found, _ = what_happened(CLEAN)
    reading = next(each for each in found.readings if each.line_id == "L003")
    spans = [Span(4500, 5000), Span(5000, 5500), Span(7400, word_upto_ms), Span(8600, 9200), Span(9200, 10_000)]
    words = tuple(replace(word, span=span) for word, span in zip(reading.words, spans, strict=True))
    whole = replace(reading, span=Span(4500, 10_000), cut=Span(4500, 10_000), words=words)
    findings = find(SCRIPT, told(heard), replace(found, readings=(whole,), asides=()))
    assert [each.kind for each in findings if each.kind == "stray_sound"] == ([] if is_word else ["stray_sound"])


@pytest.mark.parametrize(
    ("over_room_db", "under_speech_db", "lasts_ms", "is_found"),
    [
        (LEAST_OVER_DB, 10.0, 90, True),
        (LEAST_OVER_DB - 1, 10.0, 90, False),
        (12.0, 30.0, SHORT_MS + 1, True),
        (30.0, UNDER_SPEECH_DB - 1, 90, True),
        (30.0, UNDER_SPEECH_DB, 90, False),
        (30.0, UNDER_SPEECH_DB, VERY_SHORT_MS + 1, True),
    ],
)
def test_what_is_short_and_soft_is_no_stray_sound(
    over_room_db: float, under_speech_db: float, lasts_ms: int, is_found: bool
) -> None:
    sound = Sound(Span(90_000, 90_000 + lasts_ms), -40.0)
    hearing = replace(
        told(CLEAN + "   90.0  (a smack)  90.1\n"),
        sounds=(sound,),
        floor_db=sound.peak_db - over_room_db,
        speech_db=sound.peak_db + under_speech_db,
    )
    kinds = [finding.kind for finding in find(SCRIPT, hearing, Match((), (), (), 1.0))]
    assert ("stray_sound" in kinds) is is_found


@pytest.mark.parametrize(
    ("after", "sound", "is_stray"), [(" 29.5\n", "30.5  <bzzz>  31.2", True), (" 1.5\n", "1.7  <vvvv>  2.3", False)]
)
def test_what_is_held_is_a_demonstration_in_an_explanation_alone(after: str, sound: str, is_stray: bool) -> None:
    """In a pass it is as good as a telephone."""
    _, findings = what_happened(CLEAN.replace(after, f"{after}   {sound}\n"))
    assert [finding.kind for finding in findings] == (["stray_sound"] if is_stray else [])


ECHOED = """
    0.0  welcome to the lesson            1.5
    2.5  the ferry leaves at seven        4.0
    4.5  the ferry leaves at seven        6.0
    6.5  vera waits beside the water      8.0
    8.5  vera waits beside the water     10.0
   10.5  a woman waves from the window   12.5
   13.0  a woman waves from the window   15.0
"""
"""A learner repeats every line."""


def test_a_long_start_right_before_her_own_line_is_hers_though_a_learner_is_in_the_room() -> None:
    """A learner begins a line after she has read it, not before."""
    echoed = f"""{ECHOED}   15.5  we have five                    16.5
   17.0  we have five minutes left       18.5
   19.0  we have five minutes left       20.5
   21.0  the river is wide and very cold  23.0
   37.0  see you next time               38.5
"""
    learners = {4500, 8500, 13_000, 15_500, 19_000}
    found, _ = what_happened(echoed, voice_of=lambda span: Colour(1.5 if span.start_ms in learners else 0.0))
    begun = [reading for reading in found.readings if reading.kind == "partial"]
    assert [reading.line_id for reading in begun] == ["L005"]
    assert begun[0].span.start_ms == near(15_500)
    assert len(found.readings) == 8


def test_two_starts_and_a_word_to_herself_before_her_own_line_are_hers() -> None:
    """In colour the two are nearer to the learner: short stretches of other words tell little."""
    echoed = f"""{ECHOED}   15.5  we have five                    16.4
   16.9  we have                         17.4
   18.0  let me say that properly        19.5
   20.5  we have five minutes left       22.0
   22.5  we have five minutes left       24.0
   24.5  we have                         25.0
   25.5  the river is wide and very cold  27.5
   37.0  see you next time               38.5
"""
    learners = {4500, 8500, 13_000, 15_500, 16_900, 22_500, 24_500}
    found, _ = what_happened(echoed, voice_of=lambda span: Colour(1.5 if span.start_ms in learners else 0.0))
    begun = [reading for reading in found.readings if reading.kind == "partial"]
    assert [reading.span.start_ms for reading in begun] == [near(15_500), near(16_900)]


def test_another_voice_in_other_words_is_no_learner() -> None:
    """She read the line wrong and then right: the colours of two texts differ in any case."""
    twice = CLEAN.replace("   28.0  we have", "   26.0  we have seven minutes left  27.5\n   28.0  we have")
    found, findings = what_happened(twice, voice_of=lambda span: Colour(1.0 if span.start_ms == 28_000 else 0.0))
    assert [reading.kind for reading in found.readings].count("full") == 13
    assert "ad_lib" not in [finding.kind for finding in findings]


def test_a_broken_off_start_is_cut_out() -> None:
    begun = CLEAN.replace("   19.0  vera", "   17.5  vera waits  18.2\n   19.0  vera")
    _, (finding,) = what_happened(begun)
    assert (finding.kind, finding.line_id, finding.pass_id) == ("false_start", "L003", "P2")
    assert finding.choices[0].name == "cut_out"


def test_a_forgotten_line_is_offered_from_the_other_pass() -> None:
    dropped = CLEAN.replace("   28.0  we have five minutes left       29.5\n", "")
    _, (finding,) = what_happened(dropped)
    assert (finding.kind, finding.line_id, finding.pass_id) == ("dropped_line", "L005", "P2")
    assert 25_000 <= finding.span.start_ms <= 25_000 + LOOSE_MS
    assert finding.span.end_ms == near(32_000)
    assert [choice.name for choice in finding.choices] == ["borrow", "leave_out", "pick_up"]


def test_a_line_picked_up_after_the_ending_moves_no_other_line_s_place() -> None:
    dropped = CLEAN.replace("   28.0  we have five minutes left       29.5\n", "")
    picked_up = (
        f"{dropped}\n   45.0  a woman waves from the window  47.0\n   50.0  the river is wide and very cold  52.0"
    )
    finding = next(one for one in what_happened(picked_up)[1] if one.kind == "dropped_line")
    assert 25_000 <= finding.span.start_ms <= 25_000 + LOOSE_MS
    assert finding.span.end_ms == near(32_000)


def test_talk_text_without_speech_and_a_cough_are_told_apart() -> None:
    between = """
   34.6  let me turn the page             35.4
   35.6  [thanks for watching]            36.2
   36.4  (cough)                          36.6
   37.0  see"""
    more = CLEAN.replace("\n   37.0  see", between)
    _, findings = what_happened(more)
    assert [finding.kind for finding in findings] == ["ad_lib", "stray_text", "stray_sound"]
    assert [finding.id for finding in findings] == ["F01", "F02", "F03"]


def test_a_line_picked_up_after_the_ending_patches_the_pass_that_lacks_it() -> None:
    dropped = CLEAN.replace("    9.0  we have five minutes left       10.5\n", "")
    found, findings = what_happened(dropped + "   42.0  we have five minutes left  43.5\n")
    assert findings == ()
    patch = found.kept("L005", "P1")
    assert patch is not None
    assert patch.span.start_ms == near(42_000)
    assert found.passes[0].span.end_ms == near(13_000)


def test_a_line_picked_up_after_the_ending_patches_the_pass_that_has_it_wrong() -> None:
    wrong = CLEAN.replace(
        "    9.0  we have five minutes left       10.5\n", "    9.0  we have nine minutes left       10.5\n"
    )
    assert wrong != CLEAN
    found, findings = what_happened(wrong + "   42.0  we have five minutes left  43.5\n")
    patch = found.kept("L005", "P1")
    assert patch is not None
    assert patch.span.start_ms == near(42_000)
    assert [finding.kind for finding in findings] == ["repeated_line"]


def test_what_is_begun_before_a_pick_up_belongs_where_that_does() -> None:
    dropped = CLEAN.replace("    9.0  we have five minutes left       10.5\n", "")
    picked_up = "   40.5  we have five  41.3\n   42.0  we have five minutes left  43.5\n"
    _, (finding,) = what_happened(dropped + picked_up)
    assert (finding.kind, finding.line_id, finding.pass_id) == ("false_start", "L005", "P1")


def test_two_pick_ups_of_a_line_patch_the_pass_that_lacks_it_and_the_one_that_has_it_wrong() -> None:
    """And a third one is the second once more."""
    lines = [line for line in CLEAN.splitlines() if "we have five minutes left" in line]
    assert len(lines) == 2
    wrong = CLEAN.replace(lines[0] + "\n", "").replace(lines[1], lines[1].replace("five", "nine"))
    more = "   42.0  we have five minutes left  43.5\n   45.0  we have five minutes left  46.5\n"
    found, _ = what_happened(wrong + more)
    for at_pass, start_ms in (("P1", 42_000), ("P2", 45_000)):
        patch = found.kept("L005", at_pass)
        assert patch is not None
        assert patch.span.start_ms == near(start_ms)
    found, _ = what_happened(wrong + more + "   48.0  we have five minutes left  49.5\n")
    patch = found.kept("L005", "P2")
    assert patch is not None
    assert patch.span.start_ms == near(48_000)


@pytest.mark.parametrize(
    ("text", "strays"),
    [
        ("14.5  [the]   14.9", 0),  # it runs into the line
        ("14.96 [well]  14.98", 0),  # squeezed
        ("14.3  [the]   14.8", 1),
        ("13.9  [well]  13.93", 1),
    ],
)
def test_a_word_timed_a_moment_too_early_is_no_stray_text(text: str, strays: int) -> None:
    line = "   15.0  the ferry leaves at seven"
    _, findings = what_happened(CLEAN.replace(line, f"   {text.replace(' [', '  [')}\n{line}"))
    assert [finding.kind for finding in findings] == ["stray_text"] * strays


@pytest.mark.parametrize(
    ("laid", "reading", "shared"),
    [
        ([(0, 400), (400, 900)], (20, 1000), [(20, 400), (400, 1000)]),
        ([(0, 400), (400, 600), (900, 950), (950, 980)], (0, 700), [(0, 400), (400, 500), (500, 600), (600, 700)]),
        ([(0, 100), (300, 500), (500, 900)], (200, 900), [(200, 350), (350, 500), (500, 900)]),
        ([(0, 100), (100, 200)], (500, 900), [(500, 700), (700, 900)]),
        ([(900, 950), (950, 980)], (500, 900), [(500, 700), (700, 900)]),
    ],
)
def test_words_laid_outside_their_reading_share_the_time_of_one_inside(
    laid: list[tuple[int, int]], reading: tuple[int, int], shared: list[tuple[int, int]]
) -> None:
    """The aligner lays a line's last words into the next one where they are hardly to be heard."""
    words = [ReadWord("word", Span(*span), None) for span in laid]
    assert [word.span for word in words_within(words, Span(*reading))] == [Span(*span) for span in shared]
