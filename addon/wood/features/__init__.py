"""What is cut into a board: each kind of feature with its place, the tool that cuts it and its dimensions."""

from __future__ import annotations

from .base import Blank, Dimension, End, Face, Feature, Rounder, Tolerance, Tool
from .edge_cuts import Bevel, EdgeTaper, EdgeTreatment, Taper
from .groove import Groove
from .holes import AngledHole, Hole
from .opening import Opening

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
    "Rounder",
    "Taper",
    "Tolerance",
    "Tool",
]
