"""Colors of what is drawn over the view, sRGB 0 … 1."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

Color = tuple[float, float, float]

VERMILION: Final[Color] = (0xD5 / 255, 0x5E / 255, 0x00 / 255)
BLUE: Final[Color] = (0x00 / 255, 0x72 / 255, 0xB2 / 255)
GREEN: Final[Color] = (0x00 / 255, 0x9E / 255, 0x73 / 255)
SKY: Final[Color] = (0x56 / 255, 0xB4 / 255, 0xE9 / 255)
"""Of Okabe and Ito's set (Color Universal Design, 2008), which people of every color vision can tell apart."""

OF_SEVERITY: Final = {"error": VERMILION, "warning": BLUE, "note": GREEN}
OF_PASSAGES: Final = SKY

READABLE: Final = 4.5
"""Least contrast of text (WCAG 2.2, success criterion 1.4.3)."""


def readable(text: Sequence[float], paper: Sequence[float]) -> Color:
    """The color of a text, or black or white where it would not stand out from its paper."""
    if contrast(text, paper) >= READABLE:
        return text[0], text[1], text[2]
    shade = max((0.0, 1.0), key=lambda one: contrast((one, one, one), paper))
    return shade, shade, shade


def contrast(some: Sequence[float], other: Sequence[float]) -> float:
    """Contrast ratio of two sRGB colors, 1 … 21 (WCAG 2.2)."""
    light, dark = sorted((_luminance(some), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(color: Sequence[float]) -> float:
    """Relative luminance of an sRGB color (WCAG 2.2)."""
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in color[:3]
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
