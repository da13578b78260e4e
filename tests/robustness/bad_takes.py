"""Takes that cannot be used: each is refused, and no lesson folder comes to be."""

from __future__ import annotations

import os
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from lessoncut.take.samples import RATE_HZ
from tests.robustness.scene import Scene
from tests.robustness.table import Case, Step
from tests.take.making import ffmpeg

TAKE = 2
"""The exit code: something the user gave cannot be used."""
NOT_MEDIA = (
    r"take\S*: this is not a recording: no sound or video format is recognised in it, or it is damaged Try: play"
)
PLAYLIST = r"this is a playlist: it names other files or addresses and holds no sound itself Try: give the recordings"
NO_SOUND = r"there is no sound track in it Try: check that the recorder's microphone was on"

SMALL = "testsrc2=s=64x36:r=25:d=2"


def holding(content: bytes, name: str = "take.mp4") -> Step:
    """A take with just these bytes."""

    def make(scene: Scene) -> None:
        scene.take = scene.at / name
        scene.take.write_bytes(content)

    return make


def sounding(sound: Callable[[], object], rate_hz: int = RATE_HZ) -> Step:
    def make(scene: Scene) -> None:
        soundfile.write(scene.take, sound(), rate_hz, subtype="PCM_16")

    return make


def filmed(name: str, *options: str) -> Step:
    """Two seconds of picture without sound."""

    def make(scene: Scene) -> None:
        scene.take = scene.at / name
        ffmpeg("-f", "lavfi", "-i", SMALL, *options, scene.take)

    return make


def named(name: str) -> Step:
    """A take of that name that is not there."""

    def make(scene: Scene) -> None:
        scene.take = scene.at / name

    return make


def pipe(scene: Scene) -> None:
    scene.take = scene.at / "pipe.mp4"
    os.mkfifo(scene.take)


def device(scene: Scene) -> None:
    scene.take = Path("/dev/zero")


def link_in_circles(scene: Scene) -> None:
    scene.take = scene.at / "link.mp4"
    scene.take.symlink_to("link.mp4")


def link_to_nowhere(scene: Scene) -> None:
    scene.take = scene.at / "link.mp4"
    scene.take.symlink_to("gone.mp4")


def folder(scene: Scene) -> None:
    scene.take = scene.at / "takes"
    scene.take.mkdir()


def without_permission(scene: Scene) -> None:
    scene.take.chmod(0)
    scene.finishing.append(lambda: scene.take.chmod(0o644))


def without_index(scene: Scene) -> None:
    """A recorder that was switched off before it wrote the index."""
    filmed("whole.mp4", "-c:v", "libx264")(scene)
    content = scene.take.read_bytes()
    scene.take.unlink()
    holding(content[: content.index(b"moov") - 4])(scene)


def second_of_two(scene: Scene) -> None:
    scene.more_takes = [scene.take]
    scene.take = scene.at / "second.wav"
    scene.take.write_bytes(b"")


def swapped(scene: Scene) -> None:
    scene.take, scene.script = scene.script, scene.take


def glued(scene: Scene) -> None:
    """Two transport streams in one file: the clock starts over in the middle."""
    part = scene.at / "part.ts"
    ffmpeg("-f", "lavfi", "-i", "sine=d=3", "-c:a", "aac", part)
    holding(part.read_bytes() * 2, "take.ts")(scene)
    part.unlink()


def wav_that_claims_hours(scene: Scene) -> None:
    """A header of a million hours over one second of sound, and no more of it."""
    content = bytearray(scene.take.read_bytes()[:44])
    content[4:8] = content[40:44] = b"\xff\xff\xff\xff"
    scene.take.write_bytes(bytes(content))


def short(length_s: float) -> Callable[[], object]:
    return lambda: np.random.default_rng(2).standard_normal(round(length_s * RATE_HZ)) * 0.1


def mov_elsewhere(scene: Scene) -> None:
    """A QuickTime file whose sound lies in another file, by its data reference (dref)."""
    inside = scene.at / "inside.mov"
    ffmpeg("-i", scene.take, "-c:a", "pcm_s16le", inside)
    content = inside.read_bytes()
    inside.unlink()
    at = content.index(b"dref")
    assert content[at + 16 : at + 20] == b"url "
    start = content.index(b"mdat")
    length = struct.unpack(">I", content[start - 4 : start])[0]
    emptied = content[: start + 4] + bytes(length - 8) + content[start - 4 + length :]
    holding(emptied[: at + 20] + b"\0\0\0\0" + emptied[at + 24 :], "take.mov")(scene)


HLS = b"#EXTM3U\n#EXT-X-TARGETDURATION:20\n#EXTINF:14,\ntake.wav\n#EXT-X-ENDLIST\n"
NOISE = np.random.default_rng(9).bytes(50_000)

CASES = (
    Case("text called mp4", holding(b"Dear diary, this is no film.\n" * 50), TAKE, NOT_MEDIA),
    Case("noise called mp3", holding(NOISE, "take.mp3"), TAKE, NOT_MEDIA),
    Case("zeros called mp4", holding(bytes(50_000)), TAKE, NOT_MEDIA),
    Case("a PDF called mp4", holding(b"%PDF-1.7\n" + b"x" * 1000), TAKE, NOT_MEDIA),
    Case("a zip called mov", holding(b"PK\x03\x04" + b"x" * 1000, "take.mov"), TAKE, NOT_MEDIA),
    Case("a program called wav", holding(b"\x7fELF" + NOISE[:5000], "take.wav"), TAKE, NOT_MEDIA),
    Case("zero bytes", holding(b""), TAKE, r"take\.mp4: the file is empty \(0 bytes\) Try: copy it again"),
    Case("one byte", holding(b"\0"), TAKE, NOT_MEDIA),
    Case("mp4 without its index", without_index, TAKE, r"cut off before it was closed: its index \(moov\) is missing"),
    Case("wav of a header alone", wav_that_claims_hours, TAKE, r"its sound track is empty Try: check"),
    Case("second of two takes is empty", second_of_two, TAKE, r"second\.wav: the file is empty"),
    Case("take and script swapped", swapped, TAKE, r"script\.md: the script comes last, but stands before"),
    Case("a photo", filmed("take.png", "-frames:v", "1"), TAKE, NOT_MEDIA),
    Case("an animation", filmed("take.gif"), TAKE, NOT_MEDIA),
    Case("video without audio", filmed("take.mp4", "-c:v", "libx264"), TAKE, NO_SOUND),
    Case("video without audio, mkv", filmed("take.mkv", "-c:v", "libx264"), TAKE, NO_SOUND),
    Case(
        "digital silence", sounding(lambda: np.zeros(5 * RATE_HZ)), TAKE, r"holds silence and nothing else Try: .*micr"
    ),
    Case(
        "silent audio: a room and no voice",
        sounding(lambda: np.random.default_rng(3).standard_normal(5 * RATE_HZ) * 3e-5),
        TAKE,
        r"its sound is never louder than -\d+ dB under full scale: no voice was recorded Try: check which microphone",
    ),
    Case("0.2 s long", sounding(short(0.2)), TAKE, r"its sound lasts 200 ms; less than 300 ms cannot hold a word Try"),
    Case("one sample", sounding(short(1 / RATE_HZ)), TAKE, r"its sound (track is empty|lasts 0 ms)"),
    Case(
        "two recordings glued into one file", glued, TAKE, r"its clock jumps back after .*two recordings joined in one"
    ),
    Case("no such take", named("gone.mp4"), TAKE, r"gone\.mp4: there is no such file Try: check the spelling"),
    Case("no such folder of the take", named("gone/take.mp4"), TAKE, r"there is no such file Try"),
    Case("a folder as the take", folder, TAKE, r"this is a folder, not a recording Try: name the files inside it"),
    Case("a pipe as the take", pipe, TAKE, r"pipe\.mp4: this is not a file Try: record to a file first"),
    Case("a device as the take", device, TAKE, r"/dev/zero: this is not a file Try"),
    Case("a link to nowhere", link_to_nowhere, TAKE, r"link\.mp4: there is no such file Try"),
    Case("a link in circles", link_in_circles, TAKE, r"link\.mp4: cannot be read \(Too many levels"),
    Case(
        "a name of 300 bytes",
        named("a" * 296 + ".mp4"),
        TAKE,
        r"cannot be read \(File name too long\) Try: give it a sho",
    ),
    Case("an address as the take", named("http:/127.0.0.1:9/take.mp4"), TAKE, r"there is no such file"),
    Case("a protocol as the take", named("concat:take.wav|take.wav"), TAKE, r"there is no such file"),
    Case(
        "no permission to read the take",
        without_permission,
        TAKE,
        r"take\.wav: cannot be read \(Permission denied\) Try",
        process="permitted",
    ),
    # -- files that would have other files or addresses read ----------------------------------------------------------
    Case("playlist: hls", holding(HLS, "take.m3u8"), TAKE, PLAYLIST),
    Case("playlist: hls called mp4", holding(HLS), TAKE, PLAYLIST),
    Case("playlist: hls to an address", holding(HLS.replace(b"take.wav", b"http://127.0.0.1:9/a.ts")), TAKE, PLAYLIST),
    Case("playlist: hls to a password file", holding(HLS.replace(b"take.wav", b"file:///etc/passwd")), TAKE, PLAYLIST),
    Case("playlist: concat", holding(b"ffconcat version 1.0\nfile take.wav\n", "list.txt"), TAKE, PLAYLIST),
    Case("playlist: concat called wav", holding(b"ffconcat version 1.0\nfile take.wav\n", "a.wav"), TAKE, PLAYLIST),
    Case("playlist: pls", holding(b"[playlist]\nFile1=take.wav\n", "take.pls"), TAKE, PLAYLIST),
    Case("playlist: dash", holding(b"<?xml version='1.0'?>\n<MPD><BaseURL>take.wav</BaseURL></MPD>"), TAKE, PLAYLIST),
    Case("playlist: smil", holding(b"<smil><body><audio src='take.wav'/></body></smil>"), TAKE, PLAYLIST),
    Case("playlist: a stream's description", holding(b"v=0\no=- 0 0 IN IP4 127.0.0.1\n", "take.sdp"), TAKE, PLAYLIST),
    Case(
        "subtitles called mp4",
        holding(b"1\n00:00:01,000 --> 00:00:02,000\nfile:///etc/passwd\n"),
        TAKE,
        NOT_MEDIA.replace(r"take\S*", r"take\.mp4"),
    ),
    Case(
        "subtitles with styles", holding(b"[Script Info]\nScriptType: v4.00+\n[Events]\n", "take.ass"), TAKE, NOT_MEDIA
    ),
    Case("a script for a frame server", holding(b'AVISource("take.avi")\n', "take.avs"), TAKE, NOT_MEDIA),
    Case("a filter graph", holding(b"amovie=take.wav[out0]\n", "take.lavfi"), TAKE, NOT_MEDIA),
    Case("QuickTime whose sound lies in another file", mov_elsewhere, TAKE, r"silence|ffmpeg cannot read it|cannot"),
)
