"""What is cut into a board: each kind of feature with its place, the tool that cuts it and its dimensions."""

from __future__ import annotations

from .angled_hole import AngledHole
from .base import Blank, Dimension, End, Face, Feature, Tolerance, Tool
from .edge_cuts import Bevel, EdgeTreatment
from .groove import Groove
from .hole import Hole
from .opening import Opening
from .taper import EdgeTaper, Taper

__all__ = [
    "AngledHole",
    "Bevel",
    "Blank",
    "Dimension",
    "EdgeTaper",
    "EdgeTreatment",
    "End",
    "Face",
    "Feature",
    "Groove",
    "Hole",
    "Opening",
    "Taper",
    "Tolerance",
    "Tool",
]
