"""The table: parameters in, parts with their placements, joints and stow paths out."""

from __future__ import annotations

from .build import build

__all__ = ["build"]
