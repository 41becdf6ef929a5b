"""Defects for a sound table: single dimensions of boards cut otherwise than drawn, boards put in elsewhere, a stop
left out.

Each kind knows which boards it can befall. Amounts run from 0.05 to 10 mm, half of them evenly over their logarithm, so
that small ones that still fit are as common as large ones that do not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log
from typing import TYPE_CHECKING

import numpy as np

from addon.designs.table.parameters import AsCut, Table
from addon.wood.roles import GUIDE, KICKER, RIB, RUNNER
from plain_boards import Deviation
from plain_boxes import PlainTable, without_end_stops

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    from addon.wood.assembly import Assembly
    from addon.wood.part import Part

SMALLEST, GREATEST = 0.05, 10.0


@dataclass(frozen=True)
class Case:
    """A table with one defect, or several, and the same in plain boxes."""

    kind: str
    table: Table
    boxes: PlainTable
    deviations: tuple[Deviation, ...] = ()


@dataclass(frozen=True)
class Kind:
    """One kind of defect: a dimension of boards of some roles.

    Parameters
    ----------
    signs : +1 where only too much is a defect, -1 where only too little is; both for either
    ends : ends at which the difference may stand out; None for "not said" or "no matter"
    harmless : how often the sign is turned over, which does no harm and must raise no alarm
    """

    name: str
    roles: tuple[str, ...]
    dimension: str
    signs: tuple[int, ...] = (1,)
    ends: tuple[str | None, ...] = (None,)
    harmless: float = 0.0
    where: Callable[[Assembly, Part], bool] | None = None

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:
        """The table with this defect somewhere; None where it can have none."""
        one = self.deviation(random, drawn)
        return None if one is None else case_of(self.name, table, drawn, boxes, (one,))

    def deviation(self, random: Random, drawn: Assembly) -> Deviation | None:
        """This defect somewhere in a table; None where it can have none."""
        feature = self.dimension.partition("_")[0]
        boards = [
            part
            for part in drawn.parts
            if part.role.word in self.roles and (not self.where or self.where(drawn, part))
        ]
        places: list[tuple[Part, str | None]] = [(part, None) for part in boards]
        if feature in ("window", "slot"):
            places = [
                (part, one.leaf) for part in boards for one in part.shape.openings if one.kind == feature
            ]
        if not places:
            return None
        part, leaf = random.choice(places)
        by = some_amount(random) * random.choice(self.signs) * (-1 if random.random() < self.harmless else 1)
        return Deviation(part.label, self.dimension, by, random.choice(self.ends), leaf)


def case_of(
    kind: str, table: Table, drawn: Assembly, boxes: PlainTable, deviations: tuple[Deviation, ...]
) -> Case:
    """A table with these defects, and the same in plain boxes."""
    entries = [
        AsCut(one.part, one.dimension, deviation=one.by, end=one.end, leaf=one.leaf) for one in deviations
    ]
    changed = replace(table, as_cut=tuple(entries))
    return Case(kind, changed, PlainTable(drawn, deviations, like=boxes), deviations)


def some_amount(random: Random) -> float:
    """Half of them evenly over their logarithm, mm."""
    small, evenly = exp(random.uniform(log(SMALLEST), log(GREATEST))), random.uniform(SMALLEST, GREATEST)
    return random.choice((small, evenly))


class AlongRow(Kind):
    """Two or three boards of one row cut too long or too short at once, or what they butt on too thick or too thin."""

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:
        """The table with these defects somewhere; None where no board with two such dimensions is in line."""
        lines: dict[tuple[int, float], list[str]] = {}
        for part in drawn.parts:
            if part.role.word in self.roles:
                axis = int(np.abs(part.placement.axes[0]).argmax())
                middle = (part.box[0] + part.box[1])[1 - axis] / 2
                lines.setdefault((axis, round(float(middle), 3)), []).append(part.label)
        if not lines:
            return None
        chosen = random.choice(sorted(lines.values()))
        ends_on = {joint.b for joint in drawn.joints if joint.a in chosen and joint.part_end}
        ribs = [label for label in sorted(ends_on) if drawn.by_label[label].role == RIB]
        places: list[tuple[str, str, str | None]] = [
            (one, "length", end) for one in chosen for end in BOTH_ENDS
        ]
        places += [(label, "thickness", None) for label in ribs if random.random() < 0.3]
        cut = [
            Deviation(label, dimension, some_amount(random) * random.choice(self.signs), end)
            for label, dimension, end in random.sample(places, min(random.choice((2, 3)), len(places)))
        ]
        return case_of(self.name, table, drawn, boxes, tuple(cut))


class Several(Kind):
    """Two or three boards anywhere that came out otherwise: they leave something proud, open or free."""

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:
        """The table with these defects."""
        kinds = [kind for kind in KINDS if kind.name in AS_BUILT]
        wanted = random.randint(2, 3)
        found = [kind.deviation(random, drawn) for kind in random.sample(kinds, wanted + 2)]
        chosen = tuple(one for one in found if one is not None)[:wanted]
        return case_of(self.name, table, drawn, boxes, chosen)


class NoEndStops(Kind):
    """The end stops left out."""

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:  # noqa: ARG002
        """The table without its stops; None if it has none."""
        if not drawn.with_role("end_stop"):
            return None
        changed = replace(
            table, stowing=replace(table.stowing, end_stops=False, runners=False, kickers=False, guides=False)
        )
        bare = without_strips(without_end_stops(drawn))
        return Case(self.name, changed, PlainTable(bare))


def without_strips(drawn: Assembly) -> Assembly:
    """The same table without runners, kickers and guides, which stand where stops leave room."""
    kept = tuple(part for part in drawn.parts if part.role not in (RUNNER, KICKER, GUIDE))
    labels = {part.label for part in kept}
    joints = tuple(joint for joint in drawn.joints if {joint.a, joint.b} <= labels)
    return replace(drawn, parts=kept, joints=joints)


def _meets_sides(drawn: Assembly, part: Part) -> bool:
    """Whether this side's own length decides about a corner: any mitered one, else the ones between the others."""
    return any(joint.a == part.label and joint.part_end for joint in drawn.joints) or _mitered(drawn, part)


def _mitered(drawn: Assembly, part: Part) -> bool:
    return any(joint.kind == "miter" and part.label in (joint.a, joint.b) for joint in drawn.joints)


def _not_mitered(drawn: Assembly, part: Part) -> bool:
    return not _mitered(drawn, part)


def _runs_through(drawn: Assembly, part: Part) -> bool:
    """Whether this side runs past the others at the corners."""
    return not _meets_sides(drawn, part)


def _deep_enough(_drawn: Assembly, part: Part) -> bool:
    """Whether so much wood is behind the groove that the deepest one of the bench leaves some."""
    return part.shape.thickness - part.shape.grooves[0].depth > GREATEST + 1


AS_BUILT: frozenset[str] = frozenset({
    "rib too high", "rib too narrow", "rib put in high or low", "long side not cut to length", "side high or low",
    "bottom groove high or low", "bottom groove wide", "bottom small", "bottom narrow", "bottom thin",
    "ledger high or low", "ledger put on high or low", "ledger thin or thick", "leaf narrow", "leaf short", "leaf thin",
    "leg long", "leg short",
})  # fmt: skip
"""Kinds of which `Several` takes its own."""

BOTH_ENDS = ("start", "end")
BOTH_WAYS = (1, -1)

KINDS: tuple[Kind, ...] = (
    Kind("rib too long", ("rib",), "length", ends=BOTH_ENDS),
    Kind("rib too short", ("rib",), "length", signs=(-1,), ends=BOTH_ENDS),
    AlongRow("two or three along a row", ("rib",), "", signs=BOTH_WAYS),
    AlongRow("two or three long in a row", ("rib",), ""),
    AlongRow("two or three strips or stops", ("end_stop", "runner", "kicker", "guide"), "", signs=BOTH_WAYS),
    Kind("rib thick", ("rib",), "thickness", harmless=0.2),
    Kind("rib too high", ("rib",), "width", ends=(None, "start", "end")),
    Kind("window shifted", ("rib",), "window_offset", signs=BOTH_WAYS),
    Kind("window low or high", ("rib",), "window_sill", signs=BOTH_WAYS),
    Kind("window not high enough", ("rib",), "window_height", signs=(-1,), ends=BOTH_ENDS, harmless=0.2),
    Kind("window not wide enough", ("rib",), "window_width", signs=(-1,), ends=BOTH_ENDS, harmless=0.2),
    Kind("slot shifted", ("side",), "slot_offset", signs=BOTH_WAYS),
    Kind("slot low or high", ("side",), "slot_sill", signs=BOTH_WAYS),
    Kind("slot not high enough", ("side",), "slot_height", signs=(-1,), ends=BOTH_ENDS, harmless=0.2),
    Kind("slot not wide enough", ("side",), "slot_width", signs=(-1,), ends=BOTH_ENDS, harmless=0.2),
    Kind("leaf thick", ("leaf",), "thickness", harmless=0.2),
    Kind("leaf wide", ("leaf",), "width", ends=BOTH_ENDS, harmless=0.2),
    Kind("leaf long", ("leaf",), "length", ends=BOTH_ENDS, harmless=0.2),
    Kind("side not cut to length", ("side",), "length", signs=BOTH_WAYS, ends=BOTH_ENDS, where=_meets_sides),
    Kind("side thick", ("side",), "thickness", where=_not_mitered, harmless=0.2),
    Kind("bottom groove high or low", ("side",), "groove_offset", signs=BOTH_WAYS),
    Kind("bottom groove narrow", ("side",), "groove_width", signs=(-1,), ends=BOTH_ENDS, harmless=0.2),
    Kind("bottom groove shallow", ("side",), "groove_depth", signs=(-1,)),
    Kind("bottom thick", ("bottom",), "thickness", harmless=0.2),
    Kind("bottom long", ("bottom",), "length", ends=BOTH_ENDS, harmless=0.2),
    Kind("leg long", ("leg",), "length", ends=BOTH_ENDS),
    Kind("rib too narrow", ("rib",), "width", signs=(-1,), ends=(None, "start", "end")),
    Kind("rib put in high or low", ("rib",), "place_up", signs=BOTH_WAYS),
    Kind(
        "long side not cut to length",
        ("side",),
        "length",
        signs=BOTH_WAYS,
        ends=BOTH_ENDS,
        where=_runs_through,
    ),
    Kind("side high or low", ("side",), "width", signs=BOTH_WAYS, ends=(None, "start", "end")),
    Kind("bottom groove wide", ("side",), "groove_width", ends=BOTH_ENDS),
    Kind("bottom groove deep", ("side",), "groove_depth", where=_deep_enough),
    Kind("bottom small", ("bottom",), "length", signs=(-1,), ends=BOTH_ENDS),
    Kind("bottom narrow", ("bottom",), "width", signs=(-1,), ends=BOTH_ENDS),
    Kind("bottom thin", ("bottom",), "thickness", signs=(-1,)),
    Kind("ledger high or low", ("ledger",), "width", signs=BOTH_WAYS, ends=(None, "start", "end")),
    Kind("ledger put on high or low", ("ledger",), "place_up", signs=BOTH_WAYS),
    Kind("ledger thin or thick", ("ledger",), "thickness", signs=BOTH_WAYS),
    Kind("ledger short", ("ledger",), "length", signs=(-1,), ends=BOTH_ENDS),
    Kind("leaf narrow", ("leaf",), "width", signs=(-1,), ends=BOTH_ENDS),
    Kind("leaf short", ("leaf",), "length", signs=(-1,), ends=BOTH_ENDS),
    Kind("leaf thin", ("leaf",), "thickness", signs=(-1,)),
    Kind("leg short", ("leg",), "length", signs=(-1,), ends=BOTH_ENDS),
    Kind("fixed top wide or narrow", ("top",), "width", signs=BOTH_WAYS, ends=BOTH_ENDS),
    Kind("fixed top thin", ("top",), "thickness", signs=(-1,)),
    Kind("end stop long or short", ("end_stop",), "length", signs=BOTH_WAYS, ends=BOTH_ENDS),
    Kind("end stop thick", ("end_stop",), "thickness"),
    Several("two or three as built", (), ""),
    NoEndStops("end stops missing", ("end_stop",), ""),
)
