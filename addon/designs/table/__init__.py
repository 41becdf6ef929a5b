"""The table: parameters in, parts with their places, joints and stow paths out."""

from __future__ import annotations

from .build import build

__all__ = ["build"]
