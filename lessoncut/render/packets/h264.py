"""H.264 as bytes: NAL units and parameter sets (ITU-T H.264, 7.3; ISO/IEC 14496-15, 5.3.3; both from memory)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

IDR, SPS, PPS, DELIMITER = 5, 7, 8, 9
HEADS = (SPS, PPS, DELIMITER)
"""What stands in the head of an MP4 instead, or not at all."""
MOST_SETS = 32
"""How many sequence parameter sets can be told apart."""

_HIGH_PROFILES = (100, 110, 122, 244, 44, 83, 86, 118, 128, 138, 139, 134, 135)


@dataclass(frozen=True)
class ParameterSets:
    """NAL units of types 7 and 8, without start codes or lengths."""

    sps: tuple[bytes, ...]
    pps: tuple[bytes, ...]

    def with_more(self, other: ParameterSets) -> ParameterSets:
        """Both together, each set once. Raises ValueError where two unlike sets have the same number."""
        sps = tuple(dict.fromkeys((*self.sps, *other.sps)))
        pps = tuple(dict.fromkeys((*self.pps, *other.pps)))
        if len({sps_of(nal).number for nal in sps}) < len(sps) or len({pps_number(nal) for nal in pps}) < len(pps):
            raise ValueError("two unlike parameter sets have the same number")
        return ParameterSets(sps, pps)


@dataclass(frozen=True)
class Sps:
    """What a sequence parameter set says, as far as it matters here.

    ``buffered`` is how many frames a decoder holds back at most: told, or as many as may be referred to.
    """

    number: int
    profile: int
    level: int
    progressive: bool
    buffered: int
    blocks: int
    """Macroblocks in a picture."""
    frame_number_bits: int
    order_type: int
    """``pic_order_cnt_type``; 2: frames are shown in the order in which they are decoded."""


def kind(nal: bytes) -> int:
    """The unit's type."""
    return nal[0] & 0x1F


def units(packet: bytes, length_bytes: int | None) -> Iterator[bytes]:
    """The NAL units of a packet: after lengths of so many bytes, or (None) after start codes (Annex B).

    Raises ValueError for a packet that is broken off.
    """
    if length_bytes is None:
        yield from _after_start_codes(packet)
        return
    at = 0
    while at < len(packet):
        end = at + length_bytes + int.from_bytes(packet[at : at + length_bytes])
        if end > len(packet) or end == at + length_bytes:
            raise ValueError("a NAL unit does not fit its packet")
        yield packet[at + length_bytes : end]
        at = end


def _after_start_codes(packet: bytes) -> Iterator[bytes]:
    start = packet.find(b"\x00\x00\x01")
    while start >= 0:
        following = packet.find(b"\x00\x00\x01", start + 3)
        unit = packet[start + 3 : following if following >= 0 else len(packet)].rstrip(b"\x00")
        if unit:
            yield unit
        start = following


def with_lengths(nals: Iterable[bytes]) -> bytes:
    """The units with lengths of four bytes, as they stand in MP4."""
    return b"".join(len(nal).to_bytes(4) + nal for nal in nals)


def length_bytes_of(extradata: bytes) -> int | None:
    """How long the lengths in packets are; None where packets have start codes."""
    return (extradata[4] & 3) + 1 if extradata[:1] == b"\x01" else None


def sets_of(extradata: bytes) -> ParameterSets:
    """The parameter sets in a decoder configuration record, or in units with start codes. Raises ValueError."""
    if extradata[:1] != b"\x01":
        nals = list(units(extradata, None))
        return ParameterSets(
            tuple(nal for nal in nals if kind(nal) == SPS), tuple(nal for nal in nals if kind(nal) == PPS)
        )
    try:
        sps, at = _counted(extradata, 6, extradata[5] & 31)
        pps, _ = _counted(extradata, at + 1, extradata[at])
    except IndexError as error:
        raise ValueError("the decoder configuration is broken off") from error
    return ParameterSets(sps, pps)


def _counted(record: bytes, at: int, count: int) -> tuple[tuple[bytes, ...], int]:
    nals = []
    for _ in range(count):
        length = int.from_bytes(record[at : at + 2])
        nals.append(record[at + 2 : at + 2 + length])
        if len(nals[-1]) < max(1, length):
            raise ValueError("the decoder configuration is broken off")
        at += 2 + length
    return tuple(nals), at


def configuration(sets: ParameterSets) -> bytes:
    """The decoder configuration record ("avcC"), for packets with lengths of four bytes; the first set leads."""
    lead = sets.sps[0]
    record = bytes([1, lead[1], lead[2], lead[3], 0xFC | 3, 0xE0 | len(sets.sps)])
    record += b"".join(len(nal).to_bytes(2) + nal for nal in sets.sps)
    record += bytes([len(sets.pps)]) + b"".join(len(nal).to_bytes(2) + nal for nal in sets.pps)
    if lead[1] not in (66, 77, 88):
        bits = _Bits(lead[4:])
        bits.unsigned()
        chroma = bits.unsigned()
        if chroma == 3:
            bits.read(1)
        record += bytes([0xFC | chroma, 0xF8 | bits.unsigned(), 0xF8 | bits.unsigned(), 0])
    return record


def pps_number(nal: bytes) -> int:
    return _Bits(nal[1:]).unsigned()


def sps_of(nal: bytes) -> Sps:
    """Raises ValueError for one that is broken off."""
    bits = _Bits(nal[4:])
    number = bits.unsigned()
    if nal[1] in _HIGH_PROFILES:
        _skip_high(bits)
    frame_number_bits = bits.unsigned() + 4
    order = bits.unsigned()
    if order == 0:
        bits.unsigned()
    elif order == 1:
        bits.read(1)
        bits.signed()
        bits.signed()
        for _ in range(bits.unsigned()):
            bits.signed()
    references = bits.unsigned()
    bits.read(1)
    blocks = (bits.unsigned() + 1) * (bits.unsigned() + 1)
    progressive = bool(bits.read(1))
    if not progressive:
        blocks *= 2
        bits.read(1)
    bits.read(1)
    if bits.read(1):
        for _ in range(4):
            bits.unsigned()
    told = _buffered(bits) if bits.read(1) else None
    buffered = references if told is None else told
    return Sps(number, nal[1], nal[3], progressive, buffered, blocks, frame_number_bits, order)


def repeated(sets: ParameterSets, times: int) -> Iterator[bytes]:
    """NAL units that each show the picture before once more, to follow a single IDR picture with these sets.

    Each is a slice of type P in which every macroblock is skipped (7.3.3 and 7.3.4): some ten bytes. Raises
    ValueError for sets with which a slice would need more than is written here.
    """
    sps = sps_of(sets.sps[0])
    bits = _Bits(sets.pps[0][1:])
    number = bits.unsigned()
    bits.unsigned()
    arithmetic, _, slice_groups = bits.read(1), bits.read(1), bits.unsigned()
    bits.unsigned()
    bits.unsigned()
    weighted = bits.read(3)
    for _ in range(3):
        bits.signed()
    deblocking_told, _, redundant = bits.read(1), bits.read(1), bits.read(1)
    if arithmetic or slice_groups or weighted or redundant or sps.order_type != 2 or not sps.progressive:
        raise ValueError("no plain slice can be written for these parameter sets")
    for count in range(1, times + 1):
        written = _exp_golomb(0) + _exp_golomb(5) + _exp_golomb(number)
        written += f"{count % (1 << sps.frame_number_bits):0{sps.frame_number_bits}b}"
        written += "1" + _exp_golomb(0)  # one reference: the picture before
        written += "0" + "0"  # its list and its marking as they are
        written += _exp_golomb(0)  # the quantiser of the set
        if deblocking_told:
            written += _exp_golomb(1)
        written += _exp_golomb(sps.blocks) + "1"
        written += "0" * (-len(written) % 8)
        yield b"\x61" + _guarded(int(written, 2).to_bytes(len(written) // 8))


def _exp_golomb(value: int) -> str:
    plain = f"{value + 1:b}"
    return "0" * (len(plain) - 1) + plain


def _guarded(unit: bytes) -> bytes:
    """With the bytes that keep start codes from appearing."""
    out = bytearray()
    for byte in unit:
        if byte <= 3 and out.endswith(b"\x00\x00"):
            out.append(3)
        out.append(byte)
    return bytes(out)


def is_referred_to(nals: Iterable[bytes]) -> bool:
    """Whether other pictures may refer to the one in these units."""
    return any(nal[0] >> 5 & 3 for nal in nals if 1 <= kind(nal) <= IDR)


def _skip_high(bits: _Bits) -> None:
    chroma = bits.unsigned()
    if chroma == 3:
        bits.read(1)
    bits.unsigned()
    bits.unsigned()
    bits.read(1)
    if bits.read(1):
        for matrix in range(8 if chroma != 3 else 12):
            if bits.read(1):
                _skip_scaling(bits, 16 if matrix < 6 else 64)


def _skip_scaling(bits: _Bits, size: int) -> None:
    last = following = 8
    for _ in range(size):
        if following:
            following = (last + bits.signed()) % 256
        last = following or last


def _buffered(bits: _Bits) -> int | None:
    """``max_dec_frame_buffering`` of the usability information (Annex E), where it is told."""
    if bits.read(1) and bits.read(8) == 255:
        bits.read(32)
    if bits.read(1):
        bits.read(1)
    if bits.read(1):
        bits.read(4)
        if bits.read(1):
            bits.read(24)
    if bits.read(1):
        bits.unsigned()
        bits.unsigned()
    if bits.read(1):
        bits.read(65)
    decoder_timed = False
    for _ in range(2):
        if bits.read(1):
            _skip_timing(bits)
            decoder_timed = True
    if decoder_timed:
        bits.read(1)
    bits.read(1)
    if not bits.read(1):
        return None
    bits.read(1)
    for _ in range(5):
        bits.unsigned()
    return bits.unsigned()


def _skip_timing(bits: _Bits) -> None:
    count = bits.unsigned() + 1
    bits.read(8)
    for _ in range(count):
        bits.unsigned()
        bits.unsigned()
        bits.read(1)
    bits.read(20)


class _Bits:
    """Reads a unit's bits; the bytes that only keep start codes from appearing are left out."""

    def __init__(self, unit: bytes) -> None:
        plain = unit.replace(b"\x00\x00\x03", b"\x00\x00")
        self._value = int.from_bytes(plain)
        self._left = 8 * len(plain)

    def read(self, count: int) -> int:
        if count > self._left:
            raise ValueError("a parameter set is broken off")
        self._left -= count
        return (self._value >> self._left) & ((1 << count) - 1)

    def unsigned(self) -> int:
        """Exp-Golomb."""
        zeros = 0
        while not self.read(1):
            zeros += 1
        return (1 << zeros) - 1 + self.read(zeros)

    def signed(self) -> int:
        code = self.unsigned()
        return (code + 1) // 2 if code % 2 else -(code // 2)
