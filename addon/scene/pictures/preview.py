"""Pages as they will be saved, shown in the panel one at a time before anything is written.

The pages are kept as drawings; only the one that is looked at is dots, in an icon of Blender's own.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import bpy.utils.previews
import numpy as np

from ...paper.sheet import Drawing
from ...paper.sheet.raster import dots
from ...sizes.units import MM_PER_INCH

_NAME: Final = "page"


@dataclass(eq=False)
class _Kept:
    """Pages, what they are of, and which of them is shown, from 0."""

    of: Hashable
    pages: Sequence[Drawing]
    at: int = 0


_kept: _Kept | None = None
_icons: Any = None
"""Blender's collection with the icon of one page; None where no page was shown yet."""


def keep(of: Hashable, pages: Sequence[Drawing], width: int) -> None:
    """Keeps pages, and shows the first.

    Parameters
    ----------
    of : what they are of: the table, what is to be saved, and all that was chosen for it
    width : of a page in the panel, pixels
    """
    global _kept
    _kept = _Kept(of, tuple(pages))
    _show(width)


def turn(by: int, width: int) -> None:
    """Shows a page so many farther on, `width` pixels wide; after the last comes the first."""
    if _kept is not None:
        _kept.at = (_kept.at + by) % len(_kept.pages)
        _show(width)


def drop() -> None:
    """Forgets the pages: what they are of has changed."""
    global _kept
    _kept = None


def shown(of: Hashable) -> tuple[int, int, int] | None:
    """Number of the icon, of the page, from 1, and of pages; None where none are kept of this."""
    if _kept is None or _icons is None or _kept.of != of:
        return None
    return _icons[_NAME].icon_id, _kept.at + 1, len(_kept.pages)


def _show(width: int) -> None:
    """Makes dots of the page, one for each pixel: Blender would leave out lines of an icon that it makes smaller."""
    global _icons
    assert _kept is not None
    if _icons is None:
        _icons = bpy.utils.previews.new()
        _icons.new(_NAME)
    page = _kept.pages[_kept.at]
    image = dots(page, width * float(MM_PER_INCH) / page.width)
    rows, columns, _ = image.shape
    values = np.ones((rows, columns, 4), dtype=np.float32)
    values[:, :, :3] = image[::-1] / 255.0
    icon = _icons[_NAME]
    icon.image_size = columns, rows
    icon.image_pixels_float.foreach_set(values.ravel())


def register() -> None:
    """Nothing is made before a page is shown."""


def unregister() -> None:
    """Forgets the pages, and takes the icon away."""
    global _icons
    drop()
    if _icons is not None:
        bpy.utils.previews.remove(_icons)
        _icons = None
