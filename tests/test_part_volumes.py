"""Volumes of the parts of random tables in closed form, from their dimensions alone."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import pytest

from addon.sizes.tolerances import ARC
from addon.wood.features import Opening
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Shape
from random_tables import sound_tables


def section(opening: Opening, grown: float) -> float:
    """Area of an opening whose edges stand `grown` mm outside its land; sharp corners stay sharp, mm²."""
    ends, levels = 1 if opening.open_end else 2, 1 if opening.open_above else 2
    width = opening.u1 - opening.u0 + ends * grown
    height = opening.v1 - opening.v0 + levels * grown
    radius = opening.corner_radius + grown if opening.corner_radius else 0.0
    return width * height - ends * levels * (1 - pi / 4) * radius**2


def opening_volume(opening: Opening, thickness: float) -> float:
    """Land and both chamfers; the section is a quadratic in the depth, so that Simpson's rule is exact, mm³."""
    volume = section(opening, 0.0) * (thickness - opening.front_chamfer - opening.back_chamfer)
    for leg in (opening.front_chamfer, opening.back_chamfer):
        volume += leg / 6 * (section(opening, 0.0) + 4 * section(opening, leg / 2) + section(opening, leg))
    return volume


def volume_by_hand(shape: Shape) -> tuple[float, float]:
    """Volume in mm³, and what facets within `ARC` mm of the arcs may add or take away."""
    length, width, thickness = shape.size
    mitered = bool(shape.bevels)
    volume = length * width * thickness - (thickness**2 * width if mitered else 0.0)
    for (u, v), (u1, v1) in pairwise((*shape.outline, shape.outline[0])):
        volume -= abs((u1 - u) * (v1 - v)) / 2 * thickness  # a corner of a strip cut off
    facets = 0.0
    for opening in shape.openings:
        volume -= opening_volume(opening, thickness)
        facets += ARC * 2 * pi * (opening.corner_radius + 4) * thickness
    for hole in shape.holes:
        volume -= pi / 4 * hole.diameter**2 * thickness
        facets += ARC * pi * hole.diameter * thickness
    for groove in shape.grooves:
        run = min(groove.u1, length) - max(groove.u0, 0.0)
        if (
            mitered
        ):  # the board is shorter by its thickness at each end of the inner face, and grows into the depth
            run += groove.depth - 2 * thickness
        volume -= run * (groove.v1 - groove.v0) * groove.depth
        ends = (groove.u0 > 0.0) + (groove.u1 < length)  # a quarter circle in either corner of a stopped end
        volume += ends * 2 * (1 - pi / 4) * groove.end_radius**2 * groove.depth
        facets += ends * ARC * pi * groove.end_radius * groove.depth
    for edge in shape.edges:
        full = length if edge.edge in (0, 2) else width
        run = (full if edge.stop is None else edge.stop) - (edge.start or 0.0)
        taken = (0.5 if edge.kind == "chamfer" else 1 - pi / 4) * edge.size**2 * run
        if mitered and edge.start is None:
            taken += 2 * ((5 / 6 - pi / 4) * edge.size**3 - (1 - pi / 4) * edge.size**2 * thickness)
        volume -= taken
        facets += ARC * pi / 2 * edge.size * run
    return volume, facets


def test_volumes_in_closed_form() -> None:
    seen = set()
    for _, assembly in sound_tables(30, seed=11):
        for part in assembly.parts:
            if part.shape in seen:
                continue
            seen.add(part.shape)
            if part.shape.angled_holes:  # pockets: `test_drilling` holds their volumes against manifold3d
                continue
            by_hand, facets = volume_by_hand(part.shape)
            assert mesh_of(part.shape).volume == pytest.approx(by_hand, rel=1e-12, abs=facets), part.name
    assert any(shape.bevels and shape.edges for shape in seen)
    assert sum(bool(shape.openings) for shape in seen) > 50
