"""Line drawings of tables: the edges of all parts as the eye sees them, hidden ones taken away exactly."""

from __future__ import annotations

from .hidden import Lines, hidden_lines
from .layout import SHEETS, VIEWS, view_from
from .picture import line_picture

__all__ = ["SHEETS", "VIEWS", "Lines", "hidden_lines", "line_picture", "view_from"]
