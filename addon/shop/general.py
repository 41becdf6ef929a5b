"""What the general drawing says: sizes over all, knee clearance, well, heights of slots, leaves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ..designs.table.figures import room_below
from ..sizes.arrays import Floats
from ..sizes.words import codes_in_row
from ..wood.part import Part
from ..wood.roles import BOTTOM, SIDE
from .figures import Figure
from .job import Job


class Cut(NamedTuple):
    """A section through the slot of a leaf.

    Parameters
    ----------
    leaf, side : labels
    across : the axis that the plane is square to, 0 or 1
    at : where on it, mm
    face : of the side's outer face on the other axis, mm
    inward : 1 where the inside of the table lies toward greater values, else -1
    """

    leaf: str
    side: str
    across: int
    at: float
    face: float
    inward: int


@dataclass(frozen=True, eq=False)
class Sizes:
    """What the general drawing says.

    Parameters
    ----------
    low, high : corners of the table with its leaves as the top, (3,) float, mm
    overall : length, width and height
    knee : from the room's floor to the lowest board that does not stand on it
    well : from the bottom panel to the underside of the leaves as the top; None without any
    heights : in the section, from the lower edge of the side: mm and the figure
    slots : labels of leaves whose slots are at one height, sill and head from the lower edge
    leaves : labels, length, width and thickness of leaves that are alike
    """

    low: Floats
    high: Floats
    overall: tuple[Figure, Figure, Figure]
    knee: Figure
    well: Figure | None
    cut: Cut | None
    heights: tuple[tuple[float, Figure], ...]
    slots: tuple[tuple[str, tuple[Figure, ...]], ...]
    leaves: tuple[tuple[str, tuple[Figure, ...]], ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All that is printed."""
        well = () if self.well is None else (self.well,)
        listed = [figure for _, some in (*self.slots, *self.leaves) for figure in some]
        heights = [figure for _, figure in self.heights]
        return tuple(dict.fromkeys((*self.overall, self.knee, *well, *heights, *listed)))


def sizes_of(job: Job) -> Sizes:
    """What there is to say."""
    assembly, rule = job.assembly, job.rule
    boxes = [covered(job, part).box for part in assembly.parts]
    low = np.min([(*box[0][:2], 0.0) for box in boxes], axis=0)  # heights count from the room's floor
    high = np.max([box[1] for box in boxes], axis=0)
    names = ("overall length", "overall width", "overall height")
    length, width, height = (
        rule.figure(name, float(high[axis] - low[axis])) for axis, name in enumerate(names)
    )
    cut = _cut_of(job)
    return Sizes(
        low, high, (length, width, height), rule.figure("knee clearance", room_below(assembly), "down"), _well(job),
        cut, () if cut is None else tuple(_heights(job, cut)), tuple(_slots(job)), tuple(_leaves(job)),
    )  # fmt: skip


def covered(job: Job, part: Part) -> Part:
    """A part where it stands with the leaves as the top."""
    place = job.assembly.cover.get(part.label)
    return part if place is None else replace(part, placement=place)


def _well(job: Job) -> Figure | None:
    """From the bottom panel up to the leaves as the top."""
    panels = job.assembly.with_role(BOTTOM.word)
    if not panels or not job.assembly.cover:
        return None
    tops = [float(covered(job, job.assembly.by_label[label]).box[0][2]) for label in job.assembly.cover]
    return job.rule.figure("well depth", min(tops) - max(float(panel.box[1][2]) for panel in panels))


def _cut_of(job: Job) -> Cut | None:
    """Through the first slot that a side has."""
    for path in job.assembly.stow_paths:
        side = job.assembly.by_label.get(path.side)
        if side is None or side.role != SIDE:
            continue
        for slot in side.shape.openings:
            if slot.leaf == path.leaf:
                beside = slot.u0 + (slot.u1 - slot.u0) / 4  # finger holes are in the middle of leaves
                middle = np.array([[beside, (slot.v0 + slot.v1) / 2, 0.0]])
                along = int(np.abs(path.outward).argmax())
                inward = -1 if path.outward[along] > 0 else 1
                face = float(side.box[0 if inward > 0 else 1][along])
                at = float(side.placement.to_table(middle)[0][1 - along])
                return Cut(path.leaf, path.side, 1 - along, at, face, inward)
    return None


def _heights(job: Job, cut: Cut) -> Iterator[tuple[float, Figure]]:
    """The slot, the bottom panel and the side itself, from the side's lower edge up."""
    side = job.assembly.by_label[cut.side]
    yield from ((z, one) for z, one in _slot_heights(job, side) if f" {cut.leaf}," in one.name)
    for panel in job.assembly.with_role(BOTTOM.word):
        yield _height(job, side, "underside of the bottom panel", float(panel.box[0][2]))
    yield _height(job, side, "upper edge", float(side.box[1][2]))


def _slot_heights(job: Job, side: Part) -> Iterator[tuple[float, Figure]]:
    """Sill and head of each slot in a side."""
    for slot in side.shape.openings:
        ends = np.array([[slot.u0, slot.v0, 0.0], [slot.u0, slot.v1, 0.0]])
        for word, z in zip(
            ("sill", "head"), sorted(side.placement.to_table(ends)[:, 2].tolist()), strict=True
        ):
            yield _height(job, side, f"{word} of the {slot.word}", z)


def _height(job: Job, side: Part, name: str, z: float) -> tuple[float, Figure]:
    own = job.rule.figure(f"{name}, from the lower edge", z - float(side.box[0][2]))
    return z, Figure(own.name, own.value, own.printed, side.label)


def _slots(job: Job) -> Iterator[tuple[str, tuple[Figure, ...]]]:
    """Leaves whose slots are at one height, with sill and head."""
    found: dict[tuple[str, ...], tuple[list[str], tuple[Figure, ...]]] = {}
    for side in job.assembly.with_role(SIDE.word):
        figures = [figure for _, figure in _slot_heights(job, side)]
        for number, slot in enumerate(side.shape.openings):
            pair = tuple(figures[2 * number : 2 * number + 2])
            found.setdefault(tuple(one.printed for one in pair), ([], pair))[0].append(slot.leaf)
    for leaves, pair in found.values():
        yield codes_in_row(leaves), pair


def _leaves(job: Job) -> Iterator[tuple[str, tuple[Figure, ...]]]:
    """Sizes of leaves, those of one size together."""
    found: dict[tuple[str, ...], tuple[list[str], tuple[Figure, ...]]] = {}
    for part in job.assembly.parts:
        if part.role.slides:
            by_name = {one.name: one for one in part.shape.dimensions if one.number is None}
            three = tuple(
                job.rounded.figure(part, by_name[name], name) for name in ("length", "width", "thickness")
            )
            found.setdefault(tuple(one.printed for one in three), ([], three))[0].append(part.label)
    for labels, three in found.values():
        yield codes_in_row(labels), three
