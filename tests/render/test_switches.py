"""Captions are switched off in the file, and nothing else is touched."""

from __future__ import annotations

from pathlib import Path

from lessoncut.render.switches import switch_captions_off


def box(kind: bytes, content: bytes = b"", *, wide: bool = False) -> bytes:
    """ISO/IEC 14496-12, 4.2: a size of 32 bits, or 1 and then one of 64 (from memory)."""
    if wide:
        return (1).to_bytes(4, "big") + kind + (16 + len(content)).to_bytes(8, "big") + content
    return (8 + len(content)).to_bytes(4, "big") + kind + content


def track(handler: bytes, flags: int, version: int = 0) -> bytes:
    head = bytes([version, 0, 0, flags]) + bytes(80 if version == 0 else 92)
    media = box(b"mdhd", bytes(24)) + box(b"hdlr", bytes(8) + handler + bytes(13))
    return box(b"trak", box(b"tkhd", head) + box(b"edts", bytes(20)) + box(b"mdia", media))


def test_only_the_captions_are_switched_off(tmp_path: Path) -> None:
    def film(captions: int, more: int) -> bytes:
        tracks = [track(b"vide", 3), track(b"soun", 3), track(b"sbtl", captions), track(b"text", 2)]
        whole = box(b"moov", box(b"mvhd", bytes(100)) + b"".join(tracks) + track(b"sbtl", more, version=1))
        return box(b"ftyp", b"isomiso2") + box(b"mdat", b"tkhd" * 9, wide=True) + whole + box(b"free", bytes(7))

    path = tmp_path / "film.mp4"
    path.write_bytes(film(captions=3, more=7))
    switch_captions_off(path)
    assert path.read_bytes() == film(captions=2, more=6)


def test_a_file_that_ends_early_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    for content in (b"", b"\0\0\0", box(b"moov", box(b"trak"))[:-4], bytes(40)):
        path.write_bytes(content)
        switch_captions_off(path)
        assert path.read_bytes() == content
