"""The video on paper: a leaf at the moments of its way that matter, and the tightest places enlarged."""

from __future__ import annotations

from .page import filmstrip, filmstrips

__all__ = ["filmstrip", "filmstrips"]
