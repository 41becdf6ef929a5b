"""The one home of every numerical tolerance, in mm unless it says otherwise."""

from __future__ import annotations

from typing import Final

CONTACT: Final = 1e-6
"""Parts whose signed distance lies within this of zero are touching: neither a gap nor an overlap."""

WELD: Final = 1e-9
"""Vertices nearer than this are one vertex."""

ARC: Final = 0.01
"""Greatest distance between a true arc and the flat facets that stand for it."""

CABLE_ARC: Final = 0.05
"""The same for a cable, which is no more exact."""

ANGLE: Final = 1e-12
"""Sine of the angle below which two directions count as parallel."""
