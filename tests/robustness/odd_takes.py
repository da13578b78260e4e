"""Takes that are odd and good: each becomes the lesson that an ordinary one would be."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from lessoncut.take.samples import RATE_HZ
from tests.robustness.scene import (
    LENGTH_S,
    Scene,
    followed,
    in_its_place,
    level_db,
    onsets_ms,
    speech,
    usual,
)
from tests.robustness.table import Case, Step
from tests.take.making import ffmpeg

FILM = f"testsrc2=s=64x36:r=25:d={LENGTH_S}"
H264 = ("-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p")
AAC = ("-c:a", "aac", "-ar", "48000")
LEVEL_DB = -20.0
"""Of the noise that stands for speech; common to all takes."""


def stored(subtype: str, rate_hz: int = RATE_HZ) -> Step:
    """The speech as a WAV of another kind."""

    def make(scene: Scene) -> None:
        soundfile.write(scene.take, speech(rate_hz), rate_hz, subtype=subtype)

    return make


def channelled(*gains: float) -> Step:
    """The speech on several channels, each with its own gain."""

    def make(scene: Scene) -> None:
        soundfile.write(scene.take, np.outer(speech(), gains), RATE_HZ, subtype="PCM_16")

    return make


def spoiled(sound: NDArray[np.float64]) -> Step:
    def make(scene: Scene) -> None:
        soundfile.write(scene.take, np.clip(sound, -1, 1), RATE_HZ, subtype="PCM_16")

    return make


def recorded(name: str, *options: str, film: str | None = FILM, before: tuple[str, ...] = ()) -> Step:
    """The speech, with a picture or without, as ffmpeg writes it with these options."""

    def make(scene: Scene) -> None:
        raw, scene.take = scene.take, scene.at / name
        shown = () if film is None else ("-f", "lavfi", "-i", film)
        ffmpeg(*shown, *before, "-i", raw, *options, scene.take)

    return make


def copied(step: Step, name: str, *options: str, first: tuple[str, ...] = ()) -> Step:
    """What the step makes, copied into another file without encoding it again."""

    def make(scene: Scene) -> None:
        step(scene)
        raw, scene.take = scene.take, scene.at / f"copied-{name}"
        ffmpeg(*first, "-i", raw, "-c", "copy", *options, scene.take)

    return make


def cut_short(step: Step, share: float) -> Step:
    """What the step makes, but only this share of its bytes."""

    def make(scene: Scene) -> None:
        step(scene)
        content = scene.take.read_bytes()
        scene.take.write_bytes(content[: round(share * len(content))])

    return make


def scratched(scene: Scene) -> None:
    """A film in which 2 % of the bytes between seconds 5 and 8 are others: frames of picture and sound are broken."""
    recorded("take.ts", *H264, *AAC)(scene)
    content = bytearray(scene.take.read_bytes())
    random = np.random.default_rng(4)
    for at in random.integers(int(0.36 * len(content)), int(0.57 * len(content)), len(content) // 250):
        content[at] ^= 0x55
    scene.take.write_bytes(content)


def both_ways(scene: Scene) -> None:
    """One channel for 5.5 s, two from there on, in one file."""
    parts = []
    for channels, start_s, end_s in ((1, 0.0, 5.5), (2, 5.5, LENGTH_S)):
        part = scene.at / f"{channels}.ts"
        ffmpeg("-ss", str(start_s), "-to", str(end_s), "-i", scene.take, "-ac", str(channels), *AAC,
               "-output_ts_offset", str(start_s), part)  # fmt: skip
        parts.append(part.read_bytes())
        part.unlink()
    scene.take = scene.at / "both.ts"
    scene.take.write_bytes(b"".join(parts))


def of_two_formats(scene: Scene) -> None:
    """The first half a WAV at 16 kHz, the second an MP4 with a picture and stereo at 48 kHz."""
    sound = speech()
    half = round(5.5 * RATE_HZ)
    soundfile.write(scene.at / "first.wav", sound[:half], RATE_HZ)
    soundfile.write(scene.at / "rest.wav", sound[half:], RATE_HZ)
    scene.more_takes = [scene.at / "first.wav"]
    scene.take = scene.at / "second.mp4"
    ffmpeg("-f", "lavfi", "-i", FILM, "-i", scene.at / "rest.wav", "-shortest", *H264, *AAC, "-ac", "2", scene.take)


def twice_the_same(scene: Scene) -> None:
    """A copy-paste slip: the same file named twice."""
    scene.more_takes = [scene.take]


def german(scene: Scene) -> None:
    scene.language = "de"


def nothing_said(scene: Scene) -> None:
    """Five minutes of noise in which the recogniser hears nothing of the script."""
    scene.said = " 0.5  ...  13.0"


# -- what must be true ------------------------------------------------------------------------------------------------


def lasting(length_s: float) -> Step:
    return lambda scene: _lasts(scene, length_s)


def _lasts(scene: Scene, length_s: float) -> None:
    assert scene.analysis["take"]["duration_s"] == pytest.approx(length_s, abs=0.06)


def shown(**facts: object) -> Step:
    """An ordinary lesson, with a picture of which these facts are known."""

    def holds(scene: Scene) -> None:
        usual(scene)
        picture = scene.picture
        assert {name: getattr(picture, name) for name in facts} == facts

    return holds


def as_loud(near_db: float = 0.6) -> Step:
    def holds(scene: Scene) -> None:
        usual(scene)
        assert level_db(scene.sound) == pytest.approx(LEVEL_DB, abs=near_db)

    return holds


def centred(scene: Scene) -> None:
    as_loud()(scene)
    assert abs(float(scene.sound.mean())) < 3


def clipped_and_followed(scene: Scene) -> None:
    usual(scene)
    assert level_db(scene.sound) > -6


def late(scene: Scene) -> None:
    in_its_place(scene, late_ms=500)
    _lasts(scene, LENGTH_S + 0.5)
    followed(scene)


def early_part(scene: Scene) -> None:
    """What is there of the sound is in its place, and the length is that of what is there."""
    found = onsets_ms(scene.sound)
    assert 2 <= len(found) < 6
    assert found == pytest.approx([500, 2000, 3600, 6000, 9000, 12_000][: len(found)], abs=30)
    assert found[-1] / 1000 < scene.analysis["take"]["duration_s"] < 12.5


def ends_in_place(scene: Scene) -> None:
    """Around the damage the sound may be anything; before and after it everything is where it was."""
    found = onsets_ms(scene.sound)
    _lasts(scene, LENGTH_S)
    for wanted in (500, 2000, 9000, 12_000):
        assert min(abs(one - wanted) for one in found) <= 30, found
    followed(scene)


def cut_at_the_front(scene: Scene) -> None:
    """2.7 s are hidden by the edit list: the first two utterances begin before, the others 2.7 s earlier."""
    _lasts(scene, LENGTH_S - 2.7)
    assert [round(one / 100) for one in onsets_ms(scene.sound)[-4:]] == [9, 33, 63, 93]


def in_two_parts(scene: Scene) -> None:
    in_its_place(scene)
    followed(scene)
    files = scene.analysis["take"]["files"]
    assert [one["end_s"] for one in files] == pytest.approx([5.5, LENGTH_S], abs=0.06)
    assert [bool(one["picture"]) for one in files] == [False, True]


def doubled(scene: Scene) -> None:
    assert scene.analysis["take"]["duration_s"] == 2 * LENGTH_S
    assert len(onsets_ms(scene.sound)) == 12


RATE = Fraction(25)
TALL = "color=s=36x64:r=25:d=14"
DROPPED = f"testsrc2=s=64x36:r=30:d={LENGTH_S},select='gt(random(1),0.3)'"
LACED = f"testsrc2=s=64x48:r=50:d={LENGTH_S},interlace"
GLUED_SAYS = r"The line sheet: lessoncut show"


def good(name: str, made: Step, holds: Step, says: str = "") -> Case:
    return Case(name, made, 0, says, holds, leaves="lesson")


CASES = (
    # -- sound --------------------------------------------------------------------------------------------------------
    good("8 kHz", stored("PCM_16", 8000), as_loud()),
    good("192 kHz", stored("PCM_16", 192_000), usual),
    good("8 bits", stored("PCM_U8"), as_loud()),
    good("24 bits", stored("PCM_24"), as_loud()),
    good("32 bits", stored("PCM_32"), as_loud()),
    good("float", stored("FLOAT"), as_loud()),
    good("double float", stored("DOUBLE"), as_loud()),
    good("telephone law", stored("ULAW", 8000), as_loud()),
    good("one channel dead", channelled(1, 0), as_loud()),
    good("the other channel dead", channelled(0, 1), as_loud()),
    good("5.1 with the voice in the middle", channelled(0, 0, 1, 0, 0, 0), as_loud()),
    good("5.1 with the voice everywhere", channelled(*[1.0] * 6), as_loud()),
    good("one channel in opposite phase", channelled(1, -1), as_loud()),
    good("DC offset", spoiled(speech() + 0.2), centred),
    good("clipped", spoiled(speech() * 8), clipped_and_followed),
    good("very quiet", spoiled(speech() * 0.05), followed),
    good("mp3", recorded("take.mp3", film=None), usual),
    good("mp3 of variable bit rate", recorded("take.mp3", "-q:a", "9", film=None), usual),
    good("flac", recorded("take.flac", film=None), as_loud()),
    good("opus", recorded("take.opus", "-b:a", "64k", film=None), usual),
    good("mono that becomes stereo midway", both_ways, followed),
    good("a microphone that starts late", recorded("take.mp4", *H264, *AAC, before=("-itsoffset", "0.5")), late),
    good("takes of different formats in one lesson", of_two_formats, in_two_parts),
    good("the same take named twice", twice_the_same, doubled),
    # -- picture ------------------------------------------------------------------------------------------------------
    good("H.264", recorded("take.mp4", *H264, *AAC), shown(codec="h264", steady=True, rotation_deg=0)),
    good(
        "HEVC of 10 bits",
        recorded(
            "take.mp4",
            "-c:v",
            "libx265",
            "-preset",
            "ultrafast",
            "-x265-params",
            "log-level=none",
            "-pix_fmt",
            "yuv420p10le",
            *AAC,
        ),
        shown(codec="hevc", pixel_format="yuv420p10le"),
    ),
    good("ProRes", recorded("take.mov", "-c:v", "prores_ks", "-c:a", "pcm_s24le"), shown(codec="prores")),
    good(
        "VP9",
        recorded("take.webm", "-c:v", "libvpx-vp9", "-cpu-used", "8", "-deadline", "realtime"),
        shown(codec="vp9"),
    ),
    good("motion JPEG", recorded("take.avi", "-c:v", "mjpeg", "-c:a", "pcm_s16le"), shown(codec="mjpeg")),
    good(
        "interlaced",
        recorded(
            "take.mp4",
            "-c:v",
            "libx264",
            "-preset",
            "ultrafast",
            "-flags",
            "+ildct+ilme",
            "-pix_fmt",
            "yuv420p",
            *AAC,
            film=LACED,
        ),
        shown(interlaced=True),
    ),
    good(
        "variable frame rate", recorded("take.mp4", *H264, "-fps_mode", "vfr", *AAC, film=DROPPED), shown(steady=False)
    ),
    good(
        "upright, turned by the file",
        copied(recorded("take.mp4", *H264, *AAC), "take.mp4", first=("-display_rotation", "90")),
        shown(rotation_deg=270),
    ),
    good("taller than wide", recorded("take.mp4", *H264, *AAC, film=TALL), shown(width=36, height=64)),
    good(
        "one still picture",
        recorded("take.mkv", *H264, *AAC, film=f"color=red:s=64x36:r=1/5:d={LENGTH_S}"),
        shown(codec="h264", steady=False),
    ),
    # -- clocks -------------------------------------------------------------------------------------------------------
    good("a start that is not zero", recorded("take.ts", *H264, *AAC), shown(codec="h264", steady=True)),
    good("an edit list", copied(recorded("take.mp4", *H264, *AAC), "take.mp4", first=("-ss", "2.7")), cut_at_the_front),
    good(
        "B-frames before the first key frame",
        copied(
            recorded(
                "take.ts",
                "-c:v",
                "libx264",
                "-bf",
                "2",
                "-x264-params",
                "open-gop=1:keyint=25",
                "-pix_fmt",
                "yuv420p",
                *AAC,
            ),
            "take.ts",
            "-copyinkf",
            first=("-ss", "0.9"),
        ),
        followed,
    ),
    # -- damage -------------------------------------------------------------------------------------------------------
    good(
        "mp4 cut off in the middle",
        cut_short(recorded("take.mp4", *H264, *AAC, "-movflags", "+faststart"), 0.6),
        early_part,
    ),
    good("mkv cut off in the middle", cut_short(recorded("take.mkv", *H264, *AAC), 0.6), early_part),
    good("wav cut off in the middle", cut_short(lambda _: None, 0.6), early_part),
    good("corrupt frames", scratched, ends_in_place),
    # -- what is said -------------------------------------------------------------------------------------------------
    good(
        "another language", german, usual, r"No aligner for the language heard \(de\): edges come from the recogniser"
    ),
    Case(
        "nothing of the script is said",
        nothing_said,
        2,
        r"the take does not follow this script: 0% of its lines are in it Try: .*belong together",
        leaves="hearing",
    ),
)
