"""The door to everything that is worked out from parts: whether each of them can be cut at all."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from ..part import Part, Shape
from .feature_check import check_features

_REMEMBERED: Final = 4096
"""Shapes: those of a few dozen tables, so that a part that stays as it was is not looked at again."""

_sound: set[Shape] = set()


def check_parts(parts: Iterable[Part]) -> None:
    """Refuse parts that cannot be cut, before anything is worked out from them.

    Raises
    ------
    PartError : one sentence with the part's label, and the cut or both cuts that run into each other
    """
    for part in parts:
        check_shape(part.shape, part.label)


def check_shape(shape: Shape, label: str = "") -> None:
    """Refuse a shape that cannot be cut, as `check_features` does; a sound one is looked at once only."""
    if shape in _sound:
        return
    check_features(shape, label)
    if len(_sound) >= _REMEMBERED:
        _sound.clear()
    _sound.add(shape)
