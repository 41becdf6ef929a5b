"""Dots as a PNG file (ISO/IEC 15948)."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.units import MM_PER_INCH

Dots = NDArray[np.uint8]

_INCH: Final = float(MM_PER_INCH)
"""mm."""

_LESS_ABOVE: Final = 2
"""Filter of a row: what it has more than the one above."""


def png_bytes(image: Dots, dpi: float) -> bytes:
    """A PNG file of (rows, columns, 3) uint8 that carries its number of dots an inch."""
    return png_of_bands([image], image.shape[:2], dpi)


def png_of_bands(bands: Iterable[Dots], size: tuple[int, int], dpi: float) -> bytes:
    """`png_bytes` of an image that comes as bands from the top, (h, columns, 3) uint8; `size` in rows and columns."""
    meter = round(dpi * 1000 / _INCH)
    return b"".join(
        [
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", size[1], size[0], 8, 2, 0, 0, 0)),
            _chunk(b"pHYs", struct.pack(">IIB", meter, meter, 1)),
            _chunk(b"IDAT", packed(bands)),
            _chunk(b"IEND", b""),
        ]
    )


def packed(bands: Iterable[Dots]) -> bytes:
    """The rows of bands, (h, columns, 3) uint8, filtered and compressed as PNG, and PDF with predictors, have them."""
    press = zlib.compressobj(6)
    pressed: list[bytes] = []
    last: Dots | None = None
    for band in bands:
        rows, columns = band.shape[:2]
        above = np.concatenate([np.zeros_like(band[:1]) if last is None else last, band[:-1]])
        filtered = np.full((rows, 1 + 3 * columns), _LESS_ABOVE, dtype=np.uint8)
        filtered[:, 1:] = (band - above).reshape(rows, -1)
        pressed.append(press.compress(filtered.data))
        last = band[-1:]
    return b"".join([*pressed, press.flush()])


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I4s", len(data), kind) + data + struct.pack(">I", zlib.crc32(kind + data))
