"""An address as a QR code; the only home of segno."""

from __future__ import annotations

import io

import segno


def qr_svg(address: str) -> str:
    """A QR code as SVG (ISO/IEC 18004, error correction M), one unit a module, without its quiet border."""
    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(drawn, kind="svg", border=0, xmldecl=False, omitsize=True)
    return drawn.getvalue().decode()
