"""The copied picture: read off its clock, and held against the take by FFmpeg's own frame hashes."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.errors import ToolError
from lessoncut.ffmpeg import url
from lessoncut.render.packets import copying
from lessoncut.render.packets.checking import check_joins, check_packets
from lessoncut.render.packets.copying import CannotCopy, Copy, Plan, copy, planned
from lessoncut.render.packets.groups import Copied, Encoded, Group, order_of, pieces_of
from lessoncut.render.packets.records import delay_of
from lessoncut.render.shots import Held, Played, strips_of
from lessoncut.take.probe import probe
from lessoncut.take.records import Take
from lessoncut.timeline.grid import grid_rate
from lessoncut.timeline.records import Timeline
from tests.render import clock
from tests.render.sounding import timeline
from tests.render.test_encoding import EDITS, RATE_29_97, wanted
from tests.take.making import ffmpeg

LONGER: list[tuple[int, ...]] = [*EDITS, (0, 30, 200), (0, 41, 120), (0, 10, 30, 0), (0, 0, 45)]
H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p")


def made(
    paths: list[Path], folder: Path, edits: list[tuple[int, ...]] | None = None
) -> tuple[Path, Timeline, Plan, Copy, Take]:
    take = probe(paths)
    lesson = timeline(grid_rate(take), *(edits or LONGER), files=len(paths))
    plan = planned(take.files, strips_of(lesson), lesson.rate)
    into = folder / "picture.mov"
    done = copy(take.files, plan, lesson.rate, into)
    check_packets(into, done.expected, lesson.rate)
    check_joins(into, take.files, plan, done)
    return into, lesson, plan, done, take


def frame_hashes(path: Path) -> list[str]:
    """MD5 of every decoded frame, by ffmpeg's ``framemd5``."""
    done = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-noautorotate", "-i", path, "-map", "0:v:0", "-fps_mode",
            "passthrough", "-f", "framemd5", "-",
        ],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    return [line.split(",")[-1].strip() for line in done.splitlines() if not line.startswith("#")]


def assert_copied_frames_are_the_takes(picture: Path, plan: Plan, take: Path) -> None:
    result, source = frame_hashes(picture), frame_hashes(take)
    assert len(result) == plan.frames
    at = 0
    for piece in plan.pieces:
        if isinstance(piece, Copied):
            first = piece.first_picture
            assert result[at : at + piece.frames] == source[first : first + piece.frames]
        at += piece.frames


SOURCES = {
    "B-frames": ("-g", "15", "-bf", "2"),
    "deep B-frames": ("-g", "24", "-bf", "5", "-x264-params", "b-pyramid=normal:ref=5"),
    "no B-frames": ("-g", "12", "-profile:v", "baseline"),
    "main": ("-g", "20", "-bf", "3", "-profile:v", "main"),
    "scene cuts": ("-g", "50", "-keyint_min", "5", "-x264-params", "scenecut=60"),
    "ten bits": ("-g", "15", "-bf", "2", "-pix_fmt", "yuv422p10le"),
    "full range": ("-g", "15", "-color_range", "pc", "-colorspace", "bt709", "-color_primaries", "bt709"),
    "slices": ("-g", "15", "-x264-params", "slices=4"),
}


@pytest.mark.parametrize("name", SOURCES)
def test_copied_frames_are_bit_identical_and_all_are_where_they_belong(tmp_path: Path, name: str) -> None:
    options = SOURCES[name]
    path = clock.take(tmp_path / "take.mp4", *H264, *options, rate=RATE_29_97, length_s=10)
    picture, lesson, plan, *_ = made([path], tmp_path)
    assert plan.frames == lesson.frames
    assert plan.copied > 0.5 * plan.frames
    assert clock.pictures(picture) == wanted(lesson)
    assert_copied_frames_are_the_takes(picture, plan, path)


@pytest.mark.parametrize("name", ["take.mkv", "take.ts", "take.mov", "take.flv", "fragments.mp4"])
def test_other_containers(tmp_path: Path, name: str) -> None:
    first = clock.take(tmp_path / "first.mp4", *H264, "-g", "15", "-bf", "2", length_s=10)
    more = ("-movflags", "frag_keyframe+empty_moov") if name == "fragments.mp4" else ()
    ffmpeg("-i", first, "-c", "copy", *more, tmp_path / name)
    picture, lesson, plan, *_ = made([tmp_path / name], tmp_path)
    late = late_frames(tmp_path / name)
    assert clock.pictures(picture) == [max(0, frame - late) for frame in wanted(lesson)]
    assert_copied_frames_are_the_takes(picture, plan, tmp_path / name)


def late_frames(path: Path) -> int:
    """How many frames after the file's start its first picture is shown: some containers begin with the sound."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        times = [packet.pts for packet in container.demux(stream) if packet.pts is not None and not packet.is_discard]
        late: Fraction = min(times) * stream.time_base - Fraction(container.start_time, 1_000_000)
        return round(late * 30)


def test_a_take_cut_by_an_edit_list(tmp_path: Path) -> None:
    """A recorder's trim: the file still has the frames before, and says not to show them."""
    whole = clock.take(tmp_path / "whole.mp4", *H264, "-g", "15", "-bf", "2", length_s=12)
    path = tmp_path / "cut.mp4"
    ffmpeg("-ss", "1.3", "-i", whole, "-c", "copy", path)
    with av.open(str(path)) as container:
        assert any(packet.is_discard for packet in container.demux(container.streams.video[0]))
    first = clock.pictures(path)[0]
    picture, lesson, plan, *_ = made([path], tmp_path)
    late = late_frames(path)
    assert clock.pictures(picture) == [first + max(0, frame - late) for frame in wanted(lesson)]
    assert_copied_frames_are_the_takes(picture, plan, path)


def test_a_turned_take_stays_turned(tmp_path: Path) -> None:
    plain = clock.take(tmp_path / "plain.mp4", *H264, "-g", "15", turned=1, length_s=10)
    path = tmp_path / "turned.mp4"
    ffmpeg("-display_rotation", "-90", "-i", plain, "-c", "copy", path)
    picture, lesson, *_ = made([path], tmp_path)
    assert clock.size_of(picture) == (clock.WIDTH, clock.HEIGHT)
    assert clock.pictures(picture) == wanted(lesson)


def test_pixels_that_are_not_square_stay_so(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", "-vf", "setsar=4/3", length_s=10)
    picture, lesson, *_ = made([path], tmp_path)
    with av.open(str(picture)) as container:
        ratios = {frame.time: stream.sample_aspect_ratio for stream in container.streams.video
                  for frame in container.decode(stream)}  # fmt: skip
    assert set(ratios.values()) == {Fraction(4, 3)}
    assert len(ratios) == lesson.frames


def test_two_files_of_the_same_recorder(tmp_path: Path) -> None:
    options = (*H264, "-g", "15", "-bf", "2")
    paths = [clock.take(tmp_path / f"{n}.mp4", *options, first=500 * n, seed=n) for n in (0, 1)]
    edits: list[tuple[int, ...]] = [(0, 3, 90), (1, 7, 80), (0, 91, 20, 0), (0, 92, 140), (1, 200, 9, 0)]
    picture, lesson, *_ = made(paths, tmp_path, edits)
    files = [edit.file if hasattr(edit, "file") else edit.hold_file for edit in lesson.edits for _ in
             range(edit.lesson_out - edit.lesson_in)]  # fmt: skip
    assert clock.pictures(picture) == [w + 500 * file for w, file in zip(wanted(lesson), files, strict=True)]


REFUSED = {
    "open groups": ((*H264, "-x264-params", "open-gop=1:keyint=15:bframes=3"), "hardly any"),
    "one long group": ((*H264, "-g", "600", "-keyint_min", "600"), "hardly any"),
    "another codec": (("-c:v", "mpeg4",), "mpeg4, not H.264"),
    "a variable rate": ((*H264, "-vf", "select='not(mod(n,3))+between(n,90,149)'", "-fps_mode", "vfr"), "not steady"),
    "interlaced": ((*H264, "-flags", "+ildct+ilme", "-x264-params", "tff=1"), "interlaced"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_copied_is_refused_with_the_reason(tmp_path: Path, name: str) -> None:
    options, says = REFUSED[name]
    path = clock.take(tmp_path / "take.mp4", *options, length_s=10)
    take = probe([path])
    lesson = timeline(grid_rate(take), (0, 31, 50), (0, 130, 170), (0, 180, 20, 0))
    with pytest.raises(CannotCopy, match=says):
        planned(take.files, strips_of(lesson), lesson.rate)


def test_unlike_files_are_refused(tmp_path: Path) -> None:
    first = clock.take(tmp_path / "a.mp4", *H264, "-g", "15")
    other = clock.take(tmp_path / "b.mp4", *H264, "-g", "15", "-x264-params", "ref=1")
    small = clock.take(tmp_path / "c.mp4", *H264, "-g", "15", "-vf", "scale=80:48")
    for second, says in ((other, "different settings"), (small, "differ in the size")):
        take = probe([first, second])
        strips = strips_of(timeline(grid_rate(take), (0, 0, 60), (1, 0, 60), files=2))
        with pytest.raises(CannotCopy, match=says):
            planned(take.files, strips, grid_rate(take))


# -- a check that can fail ---------------------------------------------------------------------------


def test_a_frame_that_is_missing_or_damaged_is_found(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", length_s=10)
    picture, lesson, _, done, _ = made([path], tmp_path)
    shorter = replace(done.expected, packets=done.expected.packets[:-1])
    with pytest.raises(ToolError, match=f"{lesson.frames} frames instead of {lesson.frames - 1}"):
        check_packets(picture, shorter, lesson.rate)
    content = bytearray(picture.read_bytes())
    with av.open(url(picture)) as container:
        packets = [packet for packet in container.demux(container.streams.video[0]) if packet.size]
        content[packets[200].pos + packets[200].size // 2] ^= 0x55
    picture.write_bytes(content)
    with pytest.raises(ToolError, match="is not what was written"):
        check_packets(picture, done.expected, lesson.rate)


def test_a_copied_frame_that_decodes_otherwise_is_found(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", length_s=10)
    picture, _, plan, done, take = made([path], tmp_path)
    shifted = tuple(
        replace(piece, first_picture=piece.first_picture + 1) if isinstance(piece, Copied) else piece
        for piece in plan.pieces
    )
    with pytest.raises(CannotCopy, match="does not look as in the take"):
        check_joins(picture, take.files, replace(plan, pieces=shifted), done)


def test_an_encoded_frame_that_is_another_picture_is_found(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", length_s=10)
    picture, _, plan, done, take = made([path], tmp_path)
    wrong = {frame: np.roll(look, 2, axis=1) for frame, look in done.glimpses.items()}
    with pytest.raises(CannotCopy, match="came out at"):
        check_joins(picture, take.files, plan, replace(done, glimpses=wrong))


def test_a_file_that_changes_while_it_is_read_is_found(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", length_s=10)
    take = probe([path])
    lesson = timeline(grid_rate(take), *LONGER)
    plan = planned(take.files, strips_of(lesson), lesson.rate)
    clock.take(path, *H264, "-g", "15", length_s=3)
    with pytest.raises(CannotCopy, match="read the same way twice"):
        copy(take.files, plan, lesson.rate, tmp_path / "picture.mov")


# -- planning, against the obvious slow way ----------------------------------------------------------


@st.composite
def decoding_orders(draw: st.DrawFn) -> tuple[list[int], list[bool]]:
    """Groups of pictures: places in decoding order, and which begins a group."""
    places: list[int] = []
    idr: list[bool] = []
    for _ in range(draw(st.integers(1, 6))):
        rest = draw(st.permutations(range(1, draw(st.integers(1, 12)))))
        first = len(places)
        places += [first, *(first + place for place in rest)]
        idr += [True, *[False] * len(rest)]
    return places, idr


@given(decoding_orders(), st.integers(0, 20), st.integers(1, 40))
def test_every_frame_is_planned_once_and_copied_prefixes_are_whole(
    order: tuple[list[int], list[bool]], first: int, length: int
) -> None:
    places, idr = order
    found = order_of(places, [True] * len(places), idr)
    assert found
    first, last = min(first, len(places) - 1), min(first + length, len(places))
    if last <= first:
        last = first + 1
    pieces = pieces_of([Played(0, first, last), Held(0, first, 3)], {0: found.groups()})
    seen: list[int] = []
    for piece in pieces:
        if isinstance(piece, Copied):
            own = places[piece.first_packet : piece.end_packet]
            assert idr[piece.first_packet]
            assert sorted(own) == list(range(piece.first_picture, piece.first_picture + piece.frames))
            assert [place - piece.first_picture for place in own] == list(piece.places)
            seen += sorted(own)
        elif isinstance(piece, Encoded):
            seen += [picture for strip in piece.strips for picture in range(strip.first, strip.last)]
        else:
            seen += [piece.frame] * piece.frames
    assert seen == [*range(first, last), first, first, first]


def test_as_much_of_a_group_is_copied_as_can_be() -> None:
    # I0 P3 B1 B2 P6 B4 B5 P9 B7 B8: after packet 4 pictures 0 to 3 are whole, after 7 pictures 0 to 6.
    group = Group(0, 0, (0, 3, 1, 2, 6, 4, 5, 9, 7, 8))
    assert [group.packets_until(end) for end in (1, 2, 3, 4, 6, 7, 9, 10)] == [1, 1, 1, 4, 4, 7, 7, 10]


def test_packets_without_times_are_not_put_in_order() -> None:
    assert order_of([0, None, 2], [True] * 3, [True, False, False]) is None
    assert order_of([0, 1, 1], [True] * 3, [True, False, False]) is None


def test_the_delay_is_the_longest_wait() -> None:
    assert delay_of([0, 3, 1, 2]) == 1
    assert delay_of([0, 4, 2, 1, 3]) == 2
    assert delay_of([0, 1, 2]) == 0


def test_a_share_too_small_is_not_worth_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(copying, "LEAST_COPIED", 0.99)
    path = clock.take(tmp_path / "take.mp4", *H264, "-g", "15", length_s=10)
    with pytest.raises(CannotCopy, match="hardly any"):
        made([path], tmp_path)
