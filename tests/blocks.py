"""Things made of a few blocks, and how they come apart: for choices that are worked out by hand. mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from addon.check.apart.blocking import Direction, blocking_of
from addon.check.apart.graph import Graph, explosion_graph
from addon.check.apart.units import units_of
from addon.wood.assembly import Assembly, Joint
from addon.wood.part import Part
from addon.wood.roles import role_of
from tests.line_samples import box

Corners = tuple[tuple[float, float, float], tuple[float, float, float]]


def block(label: str, role: str, corners: Corners) -> Part:
    """A block between its least and its greatest corner."""
    low, high = corners
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return replace(box(size, low, label), role=role_of(role))


@dataclass(frozen=True)
class Thing:
    """What is taken off in one piece: blocks of one role."""

    role: str
    blocks: tuple[Corners, ...]

    @classmethod
    def of(cls, role: str, *blocks: Corners) -> Thing:
        return cls(role, blocks)


@dataclass(frozen=True)
class Apart:
    """How things come apart, by their labels."""

    labels: tuple[str, ...]
    graph: Graph

    @property
    def base(self) -> str:
        return self.labels[self.graph.base]

    @property
    def order(self) -> list[str]:
        """Those that leave, one after the other."""
        return [self.labels[one.unit] for one in self.graph.departures]

    @property
    def ways(self) -> dict[str, Direction]:
        return {self.labels[one.unit]: one.direction for one in self.graph.departures}

    @property
    def hangs_on(self) -> dict[str, str]:
        """Label → what it hangs on, or stays with."""
        return {self.labels[unit]: self.labels[parent] for unit, parent in self.graph.parents.items()}

    @property
    def together(self) -> list[tuple[str, ...]]:
        return [tuple(self.labels[unit] for unit in group) for group in self.graph.together]


def apart(things: dict[str, Thing], *joints: tuple[str, str]) -> Apart:
    """How things come apart.

    Parameters
    ----------
    joints : labels; the first is fixed to the second
    """
    members = {
        label: [block(f"{label}.{n}", thing.role, corners) for n, corners in enumerate(thing.blocks)]
        for label, thing in things.items()
    }
    parts = [part for own in members.values() for part in own]
    fixed = tuple(Joint(members[a][0].label, members[b][0].label, "butt") for a, b in joints)
    assembly = Assembly("A", tuple(parts), fixed, ())
    labels = [[part.label for part in own] for own in members.values()]
    units = units_of(assembly, blocking_of(parts), labels)
    return Apart(tuple(things), explosion_graph(units))
