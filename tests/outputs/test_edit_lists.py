"""The edit lists, read back by OpenTimelineIO and its CMX 3600 adapter to the same frames."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs import Programme, named, on_lesson
from lessoncut.outputs.base import NotPossible
from lessoncut.outputs.edit_list_cmx3600 import (
    Event,
    Labelling,
    ascii_line,
    edit_list_cmx3600,
    event_row,
    events,
    reels_of,
)
from lessoncut.outputs.edit_list_otio import edit_list_otio
from lessoncut.render.records import Footage
from lessoncut.render.shots import Held, Played, Strip, strips_of
from lessoncut.take.records import SoundTrack, Take, TakeFile
from lessoncut.timeline.layout import lay_out
from lessoncut.timeline.records import Timeline
from lessoncut.times import FrameRate
from tests.decisions.scene import MISHAPS, Scene
from tests.lesson.telling import take_of
from tests.outputs.programmes import programme
from tests.render.sounding import timeline

RATE_25, RATE_29_97 = FrameRate(Fraction(25)), FrameRate(Fraction(30000, 1001))
RATES = [FrameRate(Fraction(*rate)) for rate in ((24000, 1001), (24, 1), (25, 1), (30000, 1001), (30, 1), (50, 1),
                                                 (60000, 1001), (60, 1))]  # fmt: skip


FROM_ZERO = Labelling((0,), drop_frame=False)


def of(lesson: Timeline, take: Take | None = None) -> Programme:
    taken = take or take_of(*[60_000] * len(lesson.file_starts_ms), rate=lesson.rate.per_second)
    placed = Take(tuple(replace(file, path=f"/takes/take{n}.mp4") for n, file in enumerate(taken.files)))
    made = programme([], parts=[("Lesson", 0)], duration_ms=lesson.duration_ms, rate=lesson.rate, title="Šhip & sheep")
    return replace(made, footage=Footage(placed, lesson, ()))


def whole_lesson(rate: Fraction = Fraction(30000, 1001)) -> Programme:
    scene = Scene(MISHAPS)
    take = take_of(36_000, rate=rate)
    take = Take((replace(take.files[0], path="/takes/take0.mp4"),))
    lesson = build(scene.script, take, scene.match, scene.effects, Pacing())
    laid, marks = lay_out(lesson, take, scene.match, Pacing())
    made = on_lesson(lesson, laid, marks, "en")
    return replace(made, footage=Footage(take, laid, ()), findings=scene.findings)


def strips_in(track: Any) -> list[Strip]:
    """A track as it was read, in frames. The held frame of a gap is not in it."""
    found: list[Strip] = []
    for child in track:
        length = round(child.source_range.duration.value)
        if isinstance(child, otio.schema.Gap):
            found.append(Held(0, 0, length))
        else:
            start = round(child.source_range.start_time.value)
            found.append(Played(0, start, start + length))
    return found


def bare(strips: tuple[Strip, ...]) -> list[Strip]:
    return [Held(0, 0, strip.frames) if isinstance(strip, Held) else replace(strip, file=0) for strip in strips]


def read_edl(text: str, rate: FrameRate) -> Any:
    return otio.adapters.read_from_string(text, "cmx_3600", rate=float(rate.per_second))


def filmed_with(*labels: str | None, rate: FrameRate, steady: bool = True) -> Take:
    take = take_of(*[60_000] * len(labels), rate=rate.per_second)
    picture = take.files[0].picture
    assert picture
    shown = (replace(picture, timecode=label, steady=steady) for label in labels)
    return Take(tuple(replace(file, picture=one) for file, one in zip(take.files, shown, strict=True)))


@pytest.mark.parametrize(
    ("label", "rate", "mode", "source"),
    [
        ("10:23:11:05", RATE_25, "NON-DROP", "10:23:15:05 10:23:18:05"),
        ("01:00:58;20", RATE_29_97, "DROP", "01:01:02;02 01:01:04;17"),
        ("01:00:58:20", RATE_29_97, "NON-DROP", "01:01:02:00 01:01:04:15"),
        ("01:00:58;20", RATE_25, "NON-DROP", "00:00:04:00 00:00:07:00"),  # no label at this rate: not believed
    ],
)
def test_the_cameras_own_timecode_is_the_sources(label: str, rate: FrameRate, mode: str, source: str) -> None:
    """Drop frame skips ;00 and ;01 where a minute begins (SMPTE ST 12-1), so 100 frames after ;20 it says 2 more."""
    lesson = of(timeline(rate, (0, 100, 175), (0, 174, 50, 0), (0, 400, 460)), filmed_with(label, rate=rate))
    rows = edit_list_cmx3600(lesson)[0].splitlines()
    assert rows[1] == f"FCM: {mode} FRAME"
    assert " ".join(rows[3].split()[4:6]) == source
    assert rows[3].split()[6].replace(";", ":") == "00:00:00:00"
    read = otio.adapters.read_from_string(edit_list_otio(lesson), "otio_json")
    first = next(iter(read.find_clips()))
    theirs = otio.opentime.from_timecode(source.split(maxsplit=1)[0], float(rate.per_second))
    assert first.source_range.start_time.to_frames() == theirs.to_frames()
    assert first.available_range().start_time.to_frames() == theirs.to_frames() - 100


def test_frames_that_no_camera_counted_are_told() -> None:
    for take, told in (
        (filmed_with(None, rate=RATE_29_97), False),
        (filmed_with("01:00:00;00", rate=RATE_29_97, steady=False), True),
        (filmed_with("01:00:00:00", rate=RATE_25), True),  # of another rate than the lesson
    ):
        text = edit_list_cmx3600(of(timeline(RATE_29_97, (0, 0, 50)), take))[0]
        assert ("* NOTE: BRING IT TO 29.97 STEADY FRAMES A SECOND FIRST" in text) is told
        assert "00:00:00;00 00:00:01;20 00:00:00;00 00:00:01;20" in text


def test_the_golden_event_rows() -> None:
    """As the OpenTimelineIO adapter 1.0.0 writes them for a picture track at 25 frames a second."""
    rows = [
        event_row(1, "takemast", "V", Event(0, 100, 175, 0, ()), RATE_25, FROM_ZERO),
        event_row(2, "takemast", "V", Event(0, 400, 460, 125, ()), RATE_25, FROM_ZERO),
    ]
    assert rows == [
        "001  takemast V     C        00:00:04:00 00:00:07:00 00:00:00:00 00:00:03:00",
        "002  takemast V     C        00:00:16:00 00:00:18:10 00:00:05:00 00:00:07:10",
    ]


def test_the_adapter_writes_the_same_rows() -> None:
    track = otio.schema.Track("V", kind="Video")
    for start, length, kind in ((100, 75, "clip"), (0, 50, "gap"), (400, 60, "clip")):
        span = otio.opentime.TimeRange(otio.opentime.RationalTime(start, 25), otio.opentime.RationalTime(length, 25))
        reference = otio.schema.ExternalReference("file:///takes/takemast.mov")
        reference.name = "takemast"
        track.append(otio.schema.Gap(source_range=span) if kind == "gap" else otio.schema.Clip("c", reference, span))
    made = otio.schema.Timeline("lesson")
    made.tracks.append(track)
    theirs = [row for row in otio.adapters.write_to_string(made, "cmx_3600").splitlines() if re.match(r"\d{3} ", row)]
    lesson = of(timeline(RATE_25, (0, 100, 175), (0, 99, 50, 0), (0, 400, 460)))
    ours = [row for row in edit_list_cmx3600(lesson)[0].splitlines() if re.match(r"\d{3} ", row)]
    assert [row.split()[4:] for row in ours] == [row.split()[4:] for row in theirs]


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: str(rate.per_second))
def test_the_list_reads_back_to_the_same_frames(rate: FrameRate) -> None:
    # Over a minute and over ten, where drop frame skips labels.
    lesson = timeline(
        rate, (0, 1790, 1810), (0, 0, 40, 0), (0, 17_970, 18_200), (0, 3, 900), (0, 0, 18_000, 0), (0, 7, 9)
    )
    text = edit_list_cmx3600(of(lesson))[0]
    read = read_edl(text, rate)
    assert [track.kind for track in read.tracks] == ["Video", "Audio"]
    for track in read.tracks:
        assert strips_in(track) == bare(strips_of(lesson))


@pytest.mark.parametrize(
    ("rate", "says", "label"),
    [(RATE_29_97, "DROP FRAME", "00:01:00;02"), (FrameRate(Fraction(60000, 1001)), "DROP FRAME", "00:00:30;00"),
     (FrameRate(Fraction(30)), "NON-DROP FRAME", "00:01:00:00"),
     (FrameRate(Fraction(24000, 1001)), "NON-DROP FRAME", "00:01:15:00")],
)  # fmt: skip
def test_the_frame_code_mode_and_the_labels_agree(rate: FrameRate, says: str, label: str) -> None:
    # SMPTE ST 12-1: frame 1800 at 29.97 is 00:01:00;02.
    text = edit_list_cmx3600(of(timeline(rate, (0, 1800, 1830))))[0]
    assert text.splitlines()[1] == f"FCM: {says}"
    assert text.splitlines()[3].split()[4] == label


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.just(0), st.integers(0, 40_000), st.integers(1, 900)).map(lambda t: (0, t[1], t[1] + t[2])),
            st.tuples(st.just(0), st.integers(0, 900), st.integers(1, 300), st.just(0)),
        ),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from(RATES),
)
def test_any_cut_list_reads_back_in_both_forms(edits: list[tuple[int, ...]], rate: FrameRate) -> None:
    lesson = timeline(rate, *edits)
    strips = bare(strips_of(lesson))
    if all(isinstance(strip, Held) for strip in strips):
        return
    joined: list[Strip] = []
    for strip in strips:  # two gaps in a row read back as one; one at either end cannot be told
        if joined and isinstance(strip, Held) and isinstance(joined[-1], Held):
            joined[-1] = Held(0, 0, joined[-1].frames + strip.frames)
        else:
            joined.append(strip)
    inner = joined[isinstance(joined[0], Held) : len(joined) - isinstance(joined[-1], Held)]
    assert strips_in(read_edl(edit_list_cmx3600(of(lesson))[0], rate).tracks[0]) == inner
    read = otio.adapters.read_from_string(edit_list_otio(of(lesson)), "otio_json")
    assert [strips_in(track) for track in read.tracks] == [strips, strips]


def test_more_than_999_events_are_split_and_the_record_time_goes_on(tmp_path: Path) -> None:
    edits = [(0, 10 * n, 10 * n + 5) for n in range(2100)]
    lesson = of(timeline(RATE_25, *edits))
    kind = named("edit-list-cmx3600")
    (tmp_path / "edit-list-cmx3600.4.edl").write_text("of an earlier, longer lesson")
    paths = kind.write(lesson, tmp_path / kind.file_name("lesson"), None).paths
    assert [path.name for path in paths] == [
        "edit-list-cmx3600.edl", "edit-list-cmx3600.2.edl", "edit-list-cmx3600.3.edl",
    ]  # fmt: skip
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    read = [read_edl(path.read_text(), RATE_25) for path in paths]
    counts = [len([clip for clip in one.tracks[0] if isinstance(clip, otio.schema.Clip)]) for one in read]
    assert counts == [999, 999, 102]
    starts = [re.findall(r"C        (?:\S+ ){2}(\S+)", path.read_text())[0] for path in paths]
    assert starts == ["00:00:00:00", "00:03:19:20", "00:06:39:15"]  # 999 events of 5 frames are 199.8 s
    assert "(2 of 3)" in paths[1].read_text().splitlines()[0]


def test_reels_are_short_unlike_and_never_reserved() -> None:
    picture = take_of(1000).files[0]
    names = [
        "Monday take one.mp4",
        "Monday take two.mp4",
        "BL.mov",
        "größe.mp4",
        "日本.mp4",
        "monday take.mkv",
        "日本.mp4",
    ]
    take = Take(tuple(replace(picture, path=f"/takes/{name}") for name in names))
    reels = reels_of(take)
    assert reels == ["Mondayta", "Mondayt2", "BL2", "groe", "TAKE", "mondayt3", "TAKE"]


def test_stereo_is_said() -> None:
    take = take_of(60_000)
    stereo = Take((replace(take.files[0], sound=SoundTrack("aac", 48_000, 2)),))
    lesson = timeline(RATE_25, (0, 0, 50))
    assert edit_list_cmx3600(of(lesson, stereo))[0].splitlines()[3].split()[2] == "AA/V"
    assert edit_list_cmx3600(of(lesson, take))[0].splitlines()[3].split()[2] == "B"
    read = read_edl(edit_list_cmx3600(of(lesson, stereo))[0], RATE_25)
    assert [track.name for track in read.tracks] == ["V", "A1", "A2"]


def test_the_list_is_plain_ascii_and_names_lines_and_files() -> None:
    text = edit_list_cmx3600(whole_lesson())[0]
    assert text.isascii()
    assert "* LINE L004: We want seven vests, please." in text
    assert "* FROM CLIP NAME:  take0.mp4" in text
    assert ascii_line("Ünïcode “quoted” – 日\n本") == 'Unicode "quoted" - ? ?'


@pytest.mark.parametrize("rate", [Fraction(30000, 1001), Fraction(25)])
def test_a_whole_lesson_reads_back_in_both_forms(rate: Fraction) -> None:
    lesson = whole_lesson(rate)
    assert lesson.footage
    strips = bare(strips_of(lesson.footage.timeline))
    read = otio.adapters.read_from_string(edit_list_otio(lesson), "otio_json")
    assert read.name == lesson.title
    assert [track.kind for track in read.tracks] == ["Video", "Audio"]
    for track in read.tracks:
        assert strips_in(track) == strips
        assert sum(strip.frames for strip in strips) == lesson.footage.timeline.frames
    clip = next(iter(read.find_clips()))
    assert clip.media_reference.target_url == "file:///takes/take0.mp4"
    assert clip.available_range().duration.to_seconds() == pytest.approx(36, abs=0.1)
    edl = read_edl(edit_list_cmx3600(lesson)[0], lesson.rate)
    without_end = strips[:-1] if isinstance(strips[-1], Held) else strips
    assert strips_in(edl.tracks[0]) == without_end


def test_every_finding_is_a_marker_where_it_is_heard_or_was_cut_out() -> None:
    lesson = whole_lesson()
    read = otio.adapters.read_from_string(edit_list_otio(lesson), "otio_json")
    markers = {marker.name: (clip, marker) for clip in read.tracks[0] for marker in clip.markers}
    assert set(markers) == {f"{one.id} {one.kind.replace('_', ' ')}" for one in lesson.findings}
    assert len({one.kind for one in lesson.findings}) >= 4
    for finding in lesson.findings:
        clip, marker = markers[f"{finding.id} {finding.kind.replace('_', ' ')}"]
        own, marked = clip.source_range, marker.marked_range
        assert own.contains(marked.start_time)
        start_s, end_s = marked.start_time.to_seconds(), marked.end_time_exclusive().to_seconds()
        if finding.span.start_ms / 1000 < own.end_time_exclusive().to_seconds():
            assert start_s <= max(finding.span.start_ms / 1000, own.start_time.to_seconds()) + 0.034
            assert end_s >= min(finding.span.end_ms / 1000, own.end_time_exclusive().to_seconds()) - 0.034
        else:
            assert marked.start_time == own.end_time_inclusive()
        assert marker.metadata["lessoncut"]["says"] == finding.says
    assert not any(clip.markers for clip in read.tracks[1])


def test_gaps_say_which_frame_was_held() -> None:
    lesson = of(timeline(RATE_25, (0, 100, 150), (0, 199, 50, 0), (0, 200, 260)))
    content = json.loads(edit_list_otio(lesson))
    gap = content["tracks"]["children"][0]["children"][1]
    assert gap["OTIO_SCHEMA"] == "Gap.1"
    assert gap["metadata"]["lessoncut"] == {"held_file": 0, "held_frame": 199}


def test_a_take_of_sound_alone_has_an_audio_track_and_no_timecode() -> None:
    scene = Scene(MISHAPS)
    file = TakeFile("/takes/take0.wav", "0" * 64, 1, 0, 36_000, SoundTrack("pcm_s16le", 48_000, 1), None)
    take = Take((file,))
    lesson = build(scene.script, take, scene.match, scene.effects, Pacing())
    laid, marks = lay_out(lesson, take, scene.match, Pacing())
    made = replace(on_lesson(lesson, laid, marks, "en"), footage=Footage(take, laid, ()), findings=scene.findings)
    read = otio.adapters.read_from_string(edit_list_otio(made), "otio_json")
    assert [track.kind for track in read.tracks] == ["Audio"]
    assert strips_in(read.tracks[0]) == bare(strips_of(laid))
    assert any(clip.markers for clip in read.tracks[0])
    with pytest.raises(NotPossible, match="timecode"):
        edit_list_cmx3600(made)


def test_events_carry_the_lines_that_begin_in_them() -> None:
    lesson = whole_lesson()
    talk = replace(lesson.said[1].mark, line_id=None)
    held = replace(lesson.said[2], mark=replace(lesson.said[2].mark, line_id=None), words=())
    said = (lesson.said[0], replace(lesson.said[1], mark=talk), held, *lesson.said[3:])
    notes = [note for event in events(replace(lesson, said=said)) for note in event.notes]
    assert notes[0] == f"LINE {lesson.said[0].mark.line_id}: {lesson.said[0].text}"
    assert notes[1] == f"TALK: {lesson.said[1].text}"
    assert len(notes) == len(said) - 1
