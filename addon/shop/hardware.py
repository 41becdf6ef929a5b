"""What holds the boards together and goes on them: screws, brads, glue and finish, with how much of each.

Fasteners that the table has are counted. Joints that are to be screwed and have none get a proposal.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Final, Literal

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.quantities import format_quantity
from ..sizes.units import MM_PER_INCH, Units
from ..wood.assembly import Assembly
from ..wood.fasteners import FastenerKind
from ..wood.joints import Joint
from ..wood.meshes.mesh import mesh_of
from .figures import Figure
from .job import Job

MARGIN: Final = 3.0
"""How far a screw's tip stays below the far face, mm (common practice, no source)."""

GLUE: Final = (150.0, 200.0)
"""Glue on a square meter of joint, g (common practice, no source)."""

FINISH: Final = 12.0
"""Square meters that a liter of finish covers once (common practice, no source)."""

_LENGTHS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (12, 16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80),
    "in": tuple(float(MM_PER_INCH) * size for size in (0.5, 0.625, 0.75, 1, 1.25, 1.5, 1.75, 2, 2.5, 3)),
}
"""Lengths that screws are sold in, mm (common practice, no source)."""

_INTO_FACE: Final[dict[Units, tuple[str, str]]] = {"mm": ("4 mm", "2.5 mm"), "in": ("#8", "7/64 in")}
_INTO_EDGE: Final[dict[Units, tuple[str, str]]] = {"mm": ("3.5 mm", "2 mm"), "in": ("#6", "3/32 in")}
"""Screw and the drill for its lead hole: the root of its thread in hardwood (tables for screws differ; measure yours).
Into the edge of plywood thinner ones go, which split it less; they clamp, and the glue holds (common practice)."""

_APART: Final = 200.0
"""From screw to screw along a joint, mm (common practice, no source)."""

_ALONE: Final = 40.0
"""A joint that is no longer takes one screw, mm (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Item:
    """One line of the hardware list.

    Parameters
    ----------
    name : what it is, in words
    count : how many; None for what is bought by weight or volume
    size : its size in words, without a length that is printed as a figure: ``4 mm`` for a screw
    length : of a screw or brad
    amount : how much, in words, with its unit
    note : what it is for, and how sure that is
    """

    kind: FastenerKind | Literal["glue", "finish"]
    name: str
    count: int | None
    size: str
    length: Figure | None
    amount: str
    note: str


def hardware(job: Job) -> tuple[Item, ...]:
    """All that has to be bought beside sheets: what the table has, then what is proposed, then glue and finish."""
    return (*_fasteners(job), *_screws(job), *_glue(job), _finish(job))


def _fasteners(job: Job) -> Iterator[Item]:
    """Screws, brads and bolts that stand in the table, those of one size together."""
    found: dict[tuple[FastenerKind, float, float], int] = {}
    for one in job.assembly.fasteners:
        key = one.kind, one.sold_length, one.sizes.shank
        found[key] = found.get(key, 0) + 1
    for (kind, length, shank), count in sorted(found.items()):
        thick = job.rule.measured("diameter", shank)
        yield Item(
            kind,
            f"{kind}s",
            count,
            f"{thick.printed} {job.units}",
            job.rule.measured(f"{kind} length", length),
            "",
            "as in the table",
        )


# -- screws that are proposed


@dataclass(frozen=True)
class Screwed:
    """Screws for one joint: how long, how many, into an edge or not, under whose surface the heads are."""

    length: float
    count: int
    into_edge: bool
    head: str
    other: str


def proposed_screws(assembly: Assembly, units: Units) -> tuple[Screwed, ...]:
    """Screws for joints that are to be screwed and have no screw yet.

    The longest that is sold whose tip stays 3 mm below the far face, and is no more than two and a half times as long
    as the board under its head is thick (both common practice, no source).
    """
    has = {frozenset(one.joins) for one in assembly.fasteners}
    return tuple(
        _screwed(assembly, joint, units)
        for joint in assembly.joints
        if joint.fastening == "screw" and frozenset((joint.a, joint.b)) not in has
    )


def _screwed(assembly: Assembly, joint: Joint, units: Units) -> Screwed:
    shared, axis = shared_room(assembly, joint)
    through = {
        label: float(np.subtract(*assembly.by_label[label].box[::-1])[axis]) for label in (joint.a, joint.b)
    }
    head, other = sorted(through, key=lambda label: through[label])
    most = min(through[head] + through[other] - MARGIN, 2.5 * through[head])
    length = max((size for size in _LENGTHS[units] if size <= most + 1e-9), default=_LENGTHS[units][0])
    along = float(np.delete(shared, axis).max())
    count = 1 if along < _ALONE else ceil(along / _APART) + 1
    into = assembly.by_label[other]
    return Screwed(length, count, abs(into.placement.axes[2][axis]) < 0.5, head, other)


def _screws(job: Job) -> Iterator[Item]:
    found: dict[tuple[float, bool], list[Screwed]] = {}
    for one in proposed_screws(job.assembly, job.units):
        found.setdefault((one.length, one.into_edge), []).append(one)
    for (length, into_edge), ones in sorted(found.items()):
        size, lead = (_INTO_EDGE if into_edge else _INTO_FACE)[job.units]
        heads = ", ".join(dict.fromkeys(one.head for one in ones))
        where = f"through {heads}" + (" into an edge: they clamp, glue as well" if into_edge else "")
        yield Item(
            "screw", "countersunk wood screws", sum(one.count for one in ones), size,
            job.rule.figure("screw length", length), "", f"{where}; lead hole {lead} (proposal)",
        )  # fmt: skip


# -- glue and finish


def glued_area(assembly: Assembly) -> float:
    """Of all joints that are glued, m²: where two boards meet; of a groove both walls, of a miter its slope."""
    return sum(_glued(assembly, joint) for joint in assembly.joints if joint.fastening == "glue") / 1e6


def _glued(assembly: Assembly, joint: Joint) -> float:
    shared, axis = shared_room(assembly, joint)
    if joint.kind == "groove":
        panel = assembly.by_label[joint.a]
        thick = int(np.abs(panel.placement.axes[2]).argmax())
        length, depth = sorted(np.delete(shared, thick), reverse=True)
        return float(2 * length * depth)
    if joint.kind == "miter":
        height = shared[2]
        return float(height * np.hypot(shared[0], shared[1]))
    return float(np.prod(np.delete(shared, axis)))


def shared_room(assembly: Assembly, joint: Joint) -> tuple[Floats, int]:
    """(3,) float, mm: what the boxes of a joint's two boards share along each axis, and the axis along which least."""
    (low, high), (low_b, high_b) = (assembly.by_label[label].box for label in (joint.a, joint.b))
    shared = np.maximum(np.minimum(high, high_b) - np.maximum(low, low_b), 0.0)
    return shared, int(shared.argmin())


def _glue(job: Job) -> Iterator[Item]:
    area = glued_area(job.assembly)
    if area <= 0:
        return
    low, high = (_weight(area * share, job.units) for share in GLUE)
    rate = "150 to 200 g/m²" if job.units == "mm" else "1/2 to 2/3 oz/sq ft"
    note = f"for {format_quantity(area, 'm²', job.units)} of joints, {rate} (common practice, no source)"
    yield Item("glue", "wood glue", None, "", None, f"{low} to {high}", note)


def _weight(grams: float, units: Units) -> str:
    """Rounded up to 10 g, or to half an ounce (16 oz are 0.45359237 kg: NIST SP 811)."""
    if units == "mm":
        return f"{ceil(grams / 10) * 10} g"
    ounces = ceil(grams / 453.59237 * 16 * 2) / 2
    return f"{ounces:g} oz"


def _finish(job: Job) -> Item:
    """All faces and edges once, less the joints."""
    area = 0.0
    for part in job.assembly.parts:
        mesh = mesh_of(part.shape)
        a, b, c = (mesh.vertices[mesh.triangles[:, corner]] for corner in range(3))
        cross = np.cross(b - a, c - a)
        area += float(np.sqrt((cross * cross).sum(axis=1)).sum()) / 2e6
    area = max(area - 2 * glued_area(job.assembly), 0.0)
    liters = ceil(area / FINISH * 10) / 10
    amount = f"{liters:g} l a coat" if job.units == "mm" else f"{ceil(liters * 1.0567 * 10) / 10:g} qt a coat"
    rate = "a liter covers about 12 m²" if job.units == "mm" else "a quart covers about 120 sq ft"
    area_words = format_quantity(area, "m²", job.units)
    note = f"for {area_words} without glue faces; {rate} (common practice, no source)"
    return Item("finish", "finish", None, "", None, amount, note)
