from __future__ import annotations

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from lessoncut.take.peaks import COARSER, FEWEST_PAIRS, Peaks, from_bytes, outline, to_bytes
from lessoncut.take.samples import RATE_HZ, Samples
from tests.take.making import sine


def same(one: Peaks, other: Peaks) -> bool:
    return len(one.levels) == len(other.levels) and all(map(np.array_equal, one.levels, other.levels))


@given(arrays(np.int16, st.integers(0, 2000)))
def test_the_finest_level_holds_every_sample_and_no_more(samples: Samples) -> None:
    """Against a loop: a pair times 256 encloses its samples, and by less than one step."""
    pairs = outline(samples).levels[0]
    assert len(pairs) == -(-len(samples) // 160)
    for index, (lowest, highest) in enumerate(pairs.astype(int)):
        part = samples[index * 160 : (index + 1) * 160].astype(int)
        assert lowest * 256 <= part.min() < lowest * 256 + 256
        assert highest == min(127, -(-part.max() // 256))


def test_coarser_levels_are_the_same_sound() -> None:
    samples = np.random.default_rng(5).integers(-32768, 32768, RATE_HZ * 61 + 77).astype(np.int16)
    peaks = outline(samples)
    for finer, coarser in zip(peaks.levels, peaks.levels[1:], strict=False):
        assert len(coarser) == -(-len(finer) // COARSER)
        for index in range(len(coarser)):
            group = finer[index * COARSER : (index + 1) * COARSER]
            assert tuple(coarser[index]) == (group[:, 0].min(), group[:, 1].max())
    assert len(peaks.levels[-1]) <= FEWEST_PAIRS < len(peaks.levels[-2])
    assert [peaks.hop_ms(level) for level in range(3)] == [10, 40, 160]


def test_chunks_leave_no_trace() -> None:
    """61 s is more than one chunk; the finest level is the same as of each second alone."""
    samples = np.random.default_rng(6).integers(-3000, 3000, RATE_HZ * 61).astype(np.int16)
    alone = [outline(second).levels[0] for second in np.split(samples, 61)]
    assert np.array_equal(outline(samples).levels[0], np.concatenate(alone))


def test_faint_sound_can_be_seen() -> None:
    assert outline(sine(-90, length_s=1, rate_hz=RATE_HZ)).levels[0].tolist() == [[-1, 1]] * 100
    assert outline(np.zeros(1600, np.int16)).levels[0].tolist() == [[0, 0]] * 10


@pytest.mark.parametrize("length", [0, 1, 160, 161, RATE_HZ * 30])
def test_to_bytes_and_back(length: int) -> None:
    peaks = outline(np.random.default_rng(7).integers(-32768, 32768, length).astype(np.int16))
    assert same(from_bytes(to_bytes(peaks)), peaks)


def test_the_bytes_are_as_documented() -> None:
    """A reader written from the docstring alone."""
    content = to_bytes(outline(np.repeat(np.array([-512, 256], np.int16), 160)))
    assert content[:8] == b"lcpeaks1"
    assert struct.unpack("<III", content[8:20]) == (10, 1, 2)
    assert struct.unpack("<4b", content[20:]) == (-2, -2, 1, 1)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda content: content[:0],
        lambda content: content[:10],
        lambda content: content[:-1],
        lambda content: content + b"\0",
        lambda content: b"x" + content[1:],
        lambda content: content[:12] + struct.pack("<I", 2**32 - 1) + content[16:],
        lambda content: content[:16] + struct.pack("<I", 2**32 - 1) + content[20:],
    ],
)
def test_spoilt_bytes_are_refused(spoil: object) -> None:
    content = to_bytes(outline(np.ones(RATE_HZ * 10, np.int16)))
    with pytest.raises(ValueError, match="peaks"):
        from_bytes(spoil(content))  # type: ignore[operator]


@given(st.binary(max_size=60))
def test_no_bytes_break_the_reader(content: bytes) -> None:
    for candidate in (content, b"lcpeaks1" + struct.pack("<I", 10) + content):
        try:
            from_bytes(candidate)
        except ValueError:
            continue
