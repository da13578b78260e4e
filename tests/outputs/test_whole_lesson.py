"""From a take told by hand, through lesson and timeline, to every caption and chapter: what must agree does."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import Lesson
from lessoncut.matching.records import Match
from lessoncut.outputs import Programme, on_lesson, on_take
from lessoncut.outputs.captions_webvtt import captions_webvtt
from lessoncut.outputs.chapters_json import chapters_json
from lessoncut.outputs.gap_sheet import gap_rows
from lessoncut.timeline.layout import lay_out
from lessoncut.timeline.records import Marks, Timeline
from tests.decisions.scene import Scene
from tests.lesson.telling import CLEAN, take_of
from tests.outputs import webvtt_grammar

MISHAPS = (
    CLEAN
    + """
    talk 23500 24600 sorry once more
    L004 P2 22900 23300 partial 2
"""
)
RATES = [Fraction(25), Fraction(30000, 1001), Fraction(24000, 1001), Fraction(60)]


def made(text: str, rate: Fraction) -> tuple[Match, Lesson, Timeline, Marks, Programme, Programme]:
    scene = Scene(text)
    take = take_of(36_000, rate=rate)
    lesson = build(scene.script, take, scene.match, scene.effects, Pacing())
    timeline, marks = lay_out(lesson, take, scene.match, Pacing())
    of_take = on_take(lesson, timeline, marks, scene.match, take.duration_ms, "en")
    return scene.match, lesson, timeline, marks, on_lesson(lesson, timeline, marks, "en"), of_take


@pytest.mark.parametrize("text", [CLEAN, MISHAPS], ids=["clean", "mishaps"])
@pytest.mark.parametrize("rate", RATES, ids=str)
def test_captions_hold_the_lessons_words_and_stand_only_where_they_are_said(text: str, rate: Fraction) -> None:
    *_, marks, of_lesson, _ = made(text, rate)
    track = of_lesson.captions
    shown = [word for cue in track.cues for word in cue.words]
    assert shown == [word for mark in marks.items for word in mark.words]
    for cue in track.cues:
        span = track.span(cue)
        assert span.start_ms >= cue.heard.start_ms
        assert span.end_ms <= cue.heard.end_ms + 500
        assert sum(mark.lesson_span.overlap_ms(span) for mark in marks.items) > 0
    webvtt_grammar.read(captions_webvtt(of_lesson).encode())


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_no_caption_reaches_far_into_a_learners_gap(rate: Fraction) -> None:
    """At most half a second at its head (the guide's out-time), and nothing before the next line."""
    *_, of_lesson, _ = made(CLEAN, rate)
    track = of_lesson.captions
    gaps = [said.mark.gap.lesson_span for said in of_lesson.said if said.mark.gap.kind == "repeat"]
    assert len(gaps) == 3
    for gap in gaps:
        assert sum(track.span(cue).overlap_ms(gap) for cue in track.cues) <= 500


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_chapters_begin_on_the_frames_of_the_timeline(rate: Fraction) -> None:
    *_, timeline, marks, of_lesson, _ = made(CLEAN, rate)
    starts = [chapter["startTime"] for chapter in json.loads(chapters_json(of_lesson))["chapters"]]
    frames = [timeline.rate.nearest_frame(round(start * 1000)) for start in starts]
    assert frames == [chapter.lesson_in for chapter in marks.chapters]


def test_the_gap_sheet_has_every_line_of_the_repeat_pass() -> None:
    *_, marks, of_lesson, of_take = made(CLEAN, RATES[0])
    lines = [mark.line_id for mark in marks.items if mark.pass_kind == "repeat"]
    assert [row.line_id for row in gap_rows(of_lesson)] == lines
    assert [row.start_ms for row in gap_rows(of_take)] == [15_000, 20_500, 26_000]
    assert all(row.gap_ms >= row.wanted_ms for row in gap_rows(of_lesson))


def test_on_the_take_the_kept_readings_are_captioned_where_they_were_read() -> None:
    match, *_, of_take = made(MISHAPS, RATES[0])
    track = of_take.captions
    kept = [reading for reading in match.readings if reading.kept]
    starts = [track.rate.first_frame_from(reading.span.start_ms) for reading in kept]
    assert [said.span for said in of_take.said] == [reading.span for reading in kept]
    assert set(starts) <= {cue.first_frame for cue in track.cues}
    for cue in track.cues:
        for unused in of_take.other_speech:
            assert not track.span(cue).overlap_ms(unused)


def test_the_script_gives_the_spelling() -> None:
    *_, of_lesson, _ = made(CLEAN, RATES[0])
    assert of_lesson.captions.cues[0].texts == ("Hello, and welcome.",)
