"""Parameter sets and units against what FFmpeg's own reader and writer make of the same files."""

from __future__ import annotations

import subprocess
from pathlib import Path

import av
import imageio_ffmpeg
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.render.packets import h264
from tests.take.making import ffmpeg

KINDS = {
    "high": ("-profile:v", "high", "-bf", "3", "-x264-params", "ref=4"),
    "main": ("-profile:v", "main", "-level", "4.1"),
    "baseline": ("-profile:v", "baseline"),
    "timed": ("-x264-params", "nal-hrd=vbr:vbv-maxrate=2000:vbv-bufsize=4000:sar=4/3:colorprim=bt709:fullrange=on"),
    "ten bits": ("-pix_fmt", "yuv422p10le", "-x264-params", "cqm=jvt"),
    "interlaced": ("-flags", "+ildct+ilme", "-x264-params", "tff=1"),
}


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    room = tmp_path_factory.mktemp("h264")
    made = {}
    for name, options in KINDS.items():
        pixels = () if "-pix_fmt" in options else ("-pix_fmt", "yuv420p")
        made[name] = room / f"{name}.mp4"
        ffmpeg("-f", "lavfi", "-i", "testsrc2=s=176x144:r=25:d=1", "-c:v", "libx264", *pixels, *options, made[name])
    return made


def head_of(path: Path) -> bytes:
    with av.open(str(path)) as container:
        return container.streams.video[0].codec_context.extradata or b""


def told_by_ffmpeg(path: Path) -> dict[str, int]:
    """The sequence parameter set as FFmpeg's ``trace_headers`` spells it out."""
    done = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(), "-hide_banner", "-i", path, "-map", "0:v", "-c", "copy", "-bsf:v",
            "trace_headers", "-frames:v", "1", "-f", "null", "-",
        ],
        check=True, capture_output=True,
    ).stderr.decode()  # fmt: skip
    section = done.partition("Sequence Parameter Set")[2].partition("Picture Parameter Set")[0]
    rows = [line.split("]", 1)[1].split() for line in section.splitlines() if " = " in line]
    return {row[1]: int(row[-1]) for row in rows}


@pytest.mark.parametrize("name", KINDS)
def test_the_parameter_set_says_what_ffmpeg_reads(recordings: dict[str, Path], name: str) -> None:
    told = told_by_ffmpeg(recordings[name])
    sps = h264.sps_of(h264.sets_of(head_of(recordings[name])).sps[0])
    assert sps.number == told["seq_parameter_set_id"]
    assert (sps.profile, sps.level) == (told["profile_idc"], told["level_idc"])
    assert sps.progressive == bool(told["frame_mbs_only_flag"])
    assert sps.buffered == told.get("max_dec_frame_buffering", told["max_num_ref_frames"])
    assert sps.frame_number_bits == told["log2_max_frame_num_minus4"] + 4
    assert sps.order_type == told["pic_order_cnt_type"]
    height = told["pic_height_in_map_units_minus1"] + 1
    assert sps.blocks == (told["pic_width_in_mbs_minus1"] + 1) * height * (1 if sps.progressive else 2)


@pytest.mark.parametrize("name", KINDS)
def test_the_configuration_is_the_one_ffmpeg_writes(recordings: dict[str, Path], name: str) -> None:
    head = head_of(recordings[name])
    assert h264.configuration(h264.sets_of(head)) == head
    assert h264.length_bytes_of(head) == 4


def test_units_with_start_codes_are_those_with_lengths(recordings: dict[str, Path], tmp_path: Path) -> None:
    plain = tmp_path / "plain.h264"
    ffmpeg("-i", recordings["high"], "-c", "copy", "-bsf:v", "h264_mp4toannexb", plain)
    with av.open(str(recordings["high"])) as container:
        stream = container.streams.video[0]
        there = [nal for packet in container.demux(stream) for nal in h264.units(bytes(packet), 4)]
    found = [nal for nal in h264.units(plain.read_bytes(), None) if h264.kind(nal) not in h264.HEADS]
    assert found == there
    assert h264.sets_of(plain.read_bytes()[:2000]).sps == h264.sets_of(head_of(recordings["high"])).sps


@given(st.lists(st.binary(min_size=1, max_size=40), max_size=6))
def test_lengths_round_trip(nals: list[bytes]) -> None:
    assert list(h264.units(h264.with_lengths(nals), 4)) == nals


@given(st.binary(max_size=60))
def test_broken_bytes_are_refused_and_never_crash(content: bytes) -> None:
    for read in (lambda: list(h264.units(content, 4)), lambda: h264.sets_of(b"\x01" + content)):
        try:
            read()
        except ValueError:
            continue
    if len(content) > 4:
        try:
            h264.sps_of(content)
        except ValueError:
            return


def test_unlike_sets_of_one_number_are_refused(recordings: dict[str, Path]) -> None:
    high, main = (h264.sets_of(head_of(recordings[name])) for name in ("high", "main"))
    assert high.with_more(high) == high
    with pytest.raises(ValueError, match="same number"):
        high.with_more(main)


def test_a_picture_said_again_decodes_to_itself(tmp_path: Path) -> None:
    path = tmp_path / "one.mp4"
    ffmpeg(
        "-f", "lavfi", "-i", "testsrc2=s=176x144:r=25:d=1", "-frames:v", "1", "-c:v", "libx264", "-preset", "ultrafast",
        "-pix_fmt", "yuv420p", "-x264-params", "bframes=0:weightp=0", path,
    )  # fmt: skip
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        sets = h264.sets_of(stream.codec_context.extradata or b"")
        decoder = av.CodecContext.create("h264", "r")
        decoder.extradata = stream.codec_context.extradata
        first = next(bytes(packet) for packet in container.demux(stream))
    contents = [first, *(h264.with_lengths([nal]) for nal in h264.repeated(sets, 300))]
    assert max(len(content) for content in contents[1:]) < 20
    frames = []
    for number, content in enumerate(contents):
        packet = av.Packet(content)
        packet.pts = number
        frames += decoder.decode(packet)
    frames += decoder.decode(None)
    assert [frame.pts for frame in frames] == list(range(301))
    images = {bytes(frame.to_ndarray()) for frame in frames}
    assert len(images) == 1


def test_sets_that_ask_for_more_are_refused(recordings: dict[str, Path]) -> None:
    with pytest.raises(ValueError, match="no plain slice"):
        list(h264.repeated(h264.sets_of(head_of(recordings["high"])), 3))
