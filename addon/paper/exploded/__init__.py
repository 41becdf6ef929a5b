"""The exploded view on paper: far enough apart to be seen, groups in insets of their own, lines to where things go."""

from __future__ import annotations

from .page import exploded_picture, exploded_steps

__all__ = ["exploded_picture", "exploded_steps"]
