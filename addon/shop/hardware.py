"""What holds the boards together and goes on them: screws, brads, glue and finish, with how much of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Final, Literal

import numpy as np

from ..designs.findings import by_number
from ..sizes.arrays import Floats
from ..sizes.quantities import format_quantity
from ..sizes.units import Units
from ..wood.assembly import Assembly
from ..wood.fasteners import Fastener, FastenerKind
from ..wood.joints import Joint
from ..wood.meshes.mesh import mesh_of
from ..wood.screw_sizes import SCREWS, ScrewSize
from .figures import Figure
from .job import Job

GLUE: Final = (150.0, 200.0)
"""Glue on a square meter of joint, g (common practice, no source)."""

FINISH: Final = 12.0
"""Square meters that a liter of finish covers once (common practice, no source)."""


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
    """All that has to be bought beside sheets: what holds the table together, then glue and finish."""
    return (*_fasteners(job), *_glue(job), _finish(job))


_NAMES: Final[dict[FastenerKind, str]] = {
    "screw": "countersunk wood screws",
    "pocket screw": "pocket screws",
    "brad": "brads",
    "bolt": "hexagon bolts, each with washer and nut",
    "leveling foot": "leveling feet",
}


def _fasteners(job: Job) -> Iterator[Item]:
    """Screws, brads and bolts that stand in the table, those of one size and one kind of lead hole together."""
    found: dict[tuple[FastenerKind, float, float, bool], list[Fastener]] = {}
    for one in job.assembly.fasteners:
        key = one.kind, round(one.sold_length, 6), round(one.sizes.shank, 6), into_edge(job.assembly, one)
        found.setdefault(key, []).append(one)
    for (kind, length, shank, edge), ones in sorted(found.items()):
        size = drills_of(shank, job.units)
        words = size.name if size is not None else diameter_of(job, kind, shank)
        heads = ", ".join(sorted({one.joins[0] for one in ones}, key=by_number))
        note = f"through {heads}" + (" into an edge: they clamp, glue as well" if edge else "")
        if size is not None and kind in ("screw", "pocket screw"):
            note += f"; lead hole {size.lead}, measure your screw's root; trial on scrap"
        yield Item(kind, _NAMES[kind], len(ones), words, job.rule.figure(f"{kind} length", length), "", note)


def diameter_of(job: Job, kind: FastenerKind, shank: float) -> str:
    """Of what is sold by its diameter; a bolt or foot of a metric thread as ISO 261 names it."""
    if kind in ("bolt", "leveling foot"):
        return f"M{shank:g}" if job.units == "mm" else f"{job.rule.exact(shank)} in"
    return f"{job.rule.measured('diameter', shank).printed} {job.units}"


def into_edge(assembly: Assembly, one: Fastener) -> bool:
    """Whether a fastener's tip goes between the faces of its last board."""
    part = assembly.by_label.get(one.joins[-1])
    return part is not None and abs(float(part.placement.axes[2] @ np.asarray(one.direction))) < 0.5


def drills_of(shank: float, units: Units) -> ScrewSize | None:
    """The size of screw that a shank is, with its drills; None where it is none that is sold."""
    return next((one for one in SCREWS[units] if abs(one.diameter - shank) < 0.05), None)


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
