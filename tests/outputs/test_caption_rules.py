"""Every rule of the guides, on cues made by hand that keep it and that break it."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.caption_report import caption_report
from lessoncut.outputs.caption_report_json import caption_report_json
from lessoncut.outputs.caption_rules import RULES, checked
from lessoncut.outputs.captions import Captions, Cue
from lessoncut.times import FrameRate, Span
from tests.outputs.programmes import harbour

RATE_24 = FrameRate(Fraction(24))


def cue(first_frame: int, end_frame: int, *texts: str, heard: tuple[int, int] | None = None) -> Cue:
    """A cue at 24 frames a second whose words share out what is heard; without it, the time the cue is shown."""
    start_ms, end_ms = heard or (first_frame * 1000 // 24, end_frame * 1000 // 24)
    words = [line.split() for line in texts]
    count = sum(map(len, words))
    edges = iter([start_ms + (end_ms - start_ms) * at // count for at in range(count + 1)])
    start = next(edges)
    lines = []
    for line in words:
        row = []
        for word in line:
            end = next(edges)
            row.append(LessonWord(word, Span(start, end)))
            start = end
        lines.append(tuple(row))
    return Cue(first_frame, end_frame, tuple(lines))


def verdict(name: str, *cues: Cue, language: str = "en") -> bool | None:
    """What the rule says of the last cue; None where it says nothing."""
    (rule,) = [rule for rule in RULES if rule.name == name]
    found = rule.check(Captions(language, RATE_24, cues), len(cues) - 1)
    return None if found is None else found.kept


WORDS = "The ship was slow."
BEFORE = cue(0, 48, WORDS)


LIMITS: list[tuple[str, list[Cue], list[Cue]]] = [
    # Netflix Timed Text Style Guide; at 24 frames a second 5/6 s is 20 frames, 7 s is 168, half a second is 12
    ("two-lines", [cue(0, 48, "a", "b")], [cue(0, 48, "a", "b", "c")]),
    ("42-characters", [cue(0, 48, "x" * 42)], [cue(0, 48, "x" * 43)]),
    ("five-sixths", [cue(0, 20, WORDS)], [cue(0, 19, WORDS)]),
    ("seven-seconds", [cue(0, 168, WORDS)], [cue(0, 169, WORDS)]),
    ("20-a-second", [cue(0, 24, "x" * 20)], [cue(0, 24, "x" * 21)]),
    ("17-a-second", [cue(0, 24, "x" * 8, "x" * 8)], [cue(0, 24, "x" * 9, "x" * 8)]),
    ("13-a-second", [cue(0, 48, "x" * 26)], [cue(0, 48, "x" * 27)]),
    ("two-frames", [BEFORE, cue(50, 98, WORDS)], [BEFORE, cue(49, 98, WORDS)]),
    ("no-short-gap", [BEFORE, cue(50, 98, WORDS)], [BEFORE, cue(51, 98, WORDS)]),
    ("no-short-gap", [BEFORE, cue(60, 98, WORDS)], [BEFORE, cue(59, 98, WORDS)]),
    ("in-time", [cue(24, 72, WORDS, heard=(1000, 3000))], [cue(23, 72, WORDS, heard=(1000, 3000))]),
    ("in-time", [cue(26, 72, WORDS, heard=(1000, 3000))], [cue(27, 72, WORDS, heard=(1000, 3000))]),
    ("half-second-after", [cue(0, 60, WORDS, heard=(0, 2000))], [cue(0, 61, WORDS, heard=(0, 2000))]),
    # BBC Subtitle Guidelines: 37 characters, 0.3 s a word, 180 words a minute, 1.5 s before and after, gaps of 1 s
    ("37-characters", [cue(0, 48, "x" * 37)], [cue(0, 48, "x" * 38)]),
    ("0.3-s-a-word", [cue(0, 29, WORDS)], [cue(0, 28, WORDS)]),
    ("180-wpm", [cue(0, 32, WORDS)], [cue(0, 31, WORDS)]),
    ("not-early", [cue(0, 72, WORDS, heard=(1500, 3000))], [cue(0, 72, WORDS, heard=(1501, 3000))]),
    ("1.5-s-after", [cue(0, 84, WORDS, heard=(0, 2000))], [cue(0, 85, WORDS, heard=(0, 2000))]),
    ("gap-of-a-second", [BEFORE, cue(72, 98, WORDS)], [BEFORE, cue(71, 98, WORDS)]),
    ("one-sentence", [cue(0, 48, "Mr. Okonjo sails.")], [cue(0, 48, "He sails. She waits.")]),
    # DCMP Captioning Key: 32 characters, 40 frames of 30 a second, 2 s, 6 s, words a minute by level, capitals
    ("32-characters", [cue(0, 48, "x" * 32)], [cue(0, 48, "x" * 33)]),
    ("40-frames", [cue(0, 32, WORDS)], [cue(0, 31, WORDS)]),
    ("two-seconds", [cue(0, 48, WORDS)], [cue(0, 47, WORDS)]),
    ("six-seconds", [cue(0, 144, WORDS)], [cue(0, 145, WORDS)]),
    ("160-wpm", [cue(0, 36, WORDS)], [cue(0, 35, WORDS)]),
    ("140-wpm", [cue(0, 42, WORDS)], [cue(0, 41, WORDS)]),
    ("130-wpm", [cue(0, 45, WORDS)], [cue(0, 44, WORDS)]),
    ("sentence-ends-line", [cue(0, 48, "He sails.", "She waits.")], [cue(0, 48, "He sails. She", "waits.")]),
    (
        "pairs-in-cue",
        [cue(0, 48, "Mary scampered", "under the table.")],
        [cue(0, 48, "Mary scampered under", "the table.")],
    ),
    ("no-shouting", [cue(0, 48, "The BBC is on.")], [cue(0, 48, "The SHIP was slow.")]),
    # ours, and WebVTT
    ("in-order", [BEFORE, cue(48, 98, WORDS)], [BEFORE, cue(47, 98, WORDS)]),
    ("whole-speech", [cue(0, 46, WORDS, heard=(0, 2000))], [cue(0, 45, WORDS, heard=(0, 2000))]),
]  # fmt: skip
"""A rule, cues of which the last just keeps it, and cues of which the last just breaks it."""


@pytest.mark.parametrize(("name", "kept", "broken"), LIMITS)
def test_a_rule_is_kept_up_to_its_limit_and_broken_past_it(name: str, kept: list[Cue], broken: list[Cue]) -> None:
    assert verdict(name, *kept) is True
    assert verdict(name, *broken) is False


def test_a_cue_that_stands_over_a_long_pause() -> None:
    def with_pause(pause_ms: int) -> Cue:
        return Cue(0, 72, ((LessonWord("The", Span(0, 300)), LessonWord("ship.", Span(300 + pause_ms, 2000))),))

    assert verdict("no-long-pause", with_pause(999)) is True
    assert verdict("no-long-pause", with_pause(1000)) is False


def test_a_pair_across_cues_is_seen_unless_the_speaker_paused_there() -> None:
    first = cue(0, 48, "Mary scampered under")
    (rule,) = [rule for rule in RULES if rule.name == "pairs-across-cues"]

    def first_of(second: Cue) -> bool | None:
        found = rule.check(Captions("en", RATE_24, (first, second)), 0)
        return None if found is None else found.kept

    assert first_of(cue(50, 98, "the table.", heard=(2100, 4000))) is False
    assert first_of(cue(72, 120, "the table.", heard=(3000, 5000))) is None


def test_rules_say_nothing_where_they_have_nothing_to_say() -> None:
    assert verdict("two-frames", BEFORE) is None
    assert verdict("pairs-in-cue", cue(0, 48, "Maria lief unter", "den Tisch."), language="de") is None
    least = cue(0, 20, "No.", heard=(0, 100))
    assert verdict("half-second-after", least) is None, "it hangs on to be seen at all"
    assert verdict("1.5-s-after", least) is True


def test_every_rule_is_tried_here_and_has_a_source() -> None:
    by_hand = {"no-long-pause", "pairs-across-cues"}
    assert {name for name, _, _ in LIMITS} | by_hand == {rule.name for rule in RULES}
    assert all(rule.source for rule in RULES)


def test_our_own_captions_keep_what_they_aim_at() -> None:
    assert [(rule.name, at) for rule, at, found in checked(harbour().captions) if rule.aimed and not found.kept] == []


def test_the_two_reports_agree() -> None:
    made = harbour()
    report = json.loads(caption_report_json(made))
    text = caption_report(made)
    for rule in report["rules"]:
        of_cues = [seen["rules"][rule["name"]]["kept"] for seen in report["cues"] if rule["name"] in seen["rules"]]
        assert (rule["kept"], rule["broken"]) == (of_cues.count(True), of_cues.count(False))
        total = rule["kept"] + rule["broken"]
        row = text[text.index(f"  {rule['name']} ") :].split("\n")[1].strip()
        assert row.startswith(f"broken by {rule['broken']} of {total}:" if rule["broken"] else f"kept by all {total}")
    assert [seen["lines"] for seen in report["cues"]] == [list(cue.texts) for cue in made.captions.cues]
