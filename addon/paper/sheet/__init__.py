"""A drawing on paper, in millimeters, and its writers: one drawing, several kinds of file."""

from __future__ import annotations

from .drawing import Drawing
from .items import BLACK, WHITE, Pen
from .save import save

__all__ = ["BLACK", "WHITE", "Drawing", "Pen", "save"]
