"""SMPTE ST 12-1 timecode. The tables are labels that two further programs agreed on, from the standard's rule."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.timeline.timecode import drops, frame_of, timecode
from lessoncut.times import FrameRate

NTSC = FrameRate(Fraction(30000, 1001))
NTSC_DOUBLE = FrameRate(Fraction(60000, 1001))
DAY = 2_589_408
"""Frames in 24 hours of drop frame timecode at 30000/1001."""

TABLE = """
    0       00:00:00;00   00:00:00:00   0.000000
    1799    00:00:59;29   00:00:59:29   60.026633
    1800    00:01:00;02   00:01:00:00   60.060000
    3597    00:01:59;29   00:01:59:27   120.019900
    3598    00:02:00;02   00:01:59:28   120.053267
    5396    00:03:00;02   00:02:59:26   180.046533
    17981   00:09:59;29   00:09:59:11   599.966033
    17982   00:10:00;00   00:09:59:12   599.999400
    19781   00:10:59;29   00:10:59:11   660.026033
    19782   00:11:00;02   00:10:59:12   660.059400
    53946   00:30:00;00   00:29:58:06   1799.998200
    107892  01:00:00;00   00:59:56:12   3599.996400
    2589407 23:59:59;29   23:58:33:17   86399.880233
"""
ROWS = [row.split() for row in TABLE.strip().splitlines()]


@pytest.mark.parametrize(("frame", "dropped", "plain", "seconds"), ROWS)
def test_the_table_at_30000_1001(frame: str, dropped: str, plain: str, seconds: str) -> None:
    assert timecode(int(frame), NTSC, drop_frame=True) == dropped
    assert timecode(int(frame), NTSC, drop_frame=False) == plain
    assert frame_of(dropped, NTSC) == frame_of(plain, NTSC) == int(frame)
    assert f"{float(NTSC.start_s(int(frame))):.6f}" == seconds


@pytest.mark.parametrize(
    ("frame", "label"),
    [(3599, "00:00:59;59"), (3600, "00:01:00;04"), (35964, "00:10:00;00"), (215784, "01:00:00;00")],
)
def test_the_table_at_60000_1001(frame: int, label: str) -> None:
    assert timecode(frame, NTSC_DOUBLE, drop_frame=True) == label
    assert frame_of(label, NTSC_DOUBLE) == frame


def test_it_starts_anew_after_a_day() -> None:
    assert timecode(DAY, NTSC, drop_frame=True) == "00:00:00;00"
    assert timecode(24 * 3600 * 25, FrameRate(Fraction(25)), drop_frame=False) == "00:00:00:00"


@pytest.mark.parametrize("minute", [minute for minute in range(60) if minute % 10])
@pytest.mark.parametrize("frame", [0, 1])
def test_labels_that_drop_frame_skips_are_refused(minute: int, frame: int) -> None:
    with pytest.raises(ValueError, match="skips"):
        frame_of(f"00:{minute:02d}:00;{frame:02d}", NTSC)
    assert frame_of(f"00:{minute:02d}:00:{frame:02d}", NTSC) == minute * 1800 + frame


@pytest.mark.parametrize("frame", [0, 1, 2, 3])
def test_four_labels_are_skipped_at_60000_1001(frame: int) -> None:
    with pytest.raises(ValueError, match="skips"):
        frame_of(f"00:01:00;{frame:02d}", NTSC_DOUBLE)


@pytest.mark.parametrize(
    "label",
    ["24:00:00:00", "00:60:00:00", "00:00:60:00", "00:00:00:30", "0:00:00:00", "00:00:00.00", "", "00:00:00:00 "],
)
def test_what_is_no_label_is_refused(label: str) -> None:
    with pytest.raises(ValueError, match="timecode"):
        frame_of(label, NTSC)


def test_drop_frame_is_defined_for_two_rates_only() -> None:
    assert drops(NTSC) and drops(NTSC_DOUBLE)
    for rate in (Fraction(24000, 1001), Fraction(25), Fraction(30), Fraction(60)):
        assert not drops(FrameRate(rate))
        with pytest.raises(ValueError, match="no drop frame"):
            timecode(0, FrameRate(rate), drop_frame=True)
        with pytest.raises(ValueError, match="no drop frame"):
            frame_of("00:00:00;00", FrameRate(rate))
    with pytest.raises(ValueError, match="negative"):
        timecode(-1, NTSC, drop_frame=True)
    with pytest.raises(ValueError, match="no timecode at 1/3"):
        timecode(0, FrameRate(Fraction(1, 3)), drop_frame=False)


def spelt_out(counted: int, skipped: int) -> Iterator[str]:
    """The rule of the standard, label by label."""
    for hour in range(24):
        for minute in range(60):
            for second in range(60):
                for frame in range(counted):
                    if skipped and minute % 10 and second == 0 and frame < skipped:
                        continue
                    yield f"{hour:02d}:{minute:02d}:{second:02d}{';' if skipped else ':'}{frame:02d}"


@pytest.mark.parametrize(("rate", "counted", "skipped"), [(NTSC, 30, 2), (NTSC_DOUBLE, 60, 4), (NTSC, 30, 0)])
def test_against_the_rule_spelt_out(rate: FrameRate, counted: int, skipped: int) -> None:
    for frame, label in enumerate(islice(spelt_out(counted, skipped), 75_000)):
        assert timecode(frame, rate, drop_frame=bool(skipped)) == label


@given(st.integers(0, DAY - 1))
def test_there_and_back(frame: int) -> None:
    assert frame_of(timecode(frame, NTSC, drop_frame=True), NTSC) == frame
    if frame < 24 * 3600 * 30:
        assert frame_of(timecode(frame, NTSC, drop_frame=False), NTSC) == frame
