"""A second design beside the table: a box whose lid slides into grooves of its two long sides, up to its back."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from addon.check import causes
from addon.check.slide import study as on_the_way
from addon.designs.acceptance import Accepted
from addon.designs.findings import Change, Finding, Option, Remedy, Sized
from addon.sizes import declare
from addon.sizes.units import Units, format_amount
from addon.wood.as_cut import apply_as_cut
from addon.wood.assembly import Assembly, Joint, Move, StowPath
from addon.wood.dimensions import AsCut
from addon.wood.features import Groove
from addon.wood.limits import Limits, Tolerances
from addon.wood.part import Part, Placement, Shape, datum_of, rectangle
from addon.wood.roles import BOTTOM, SIDE, Role, role_of
from addon.wood.stock import Stock

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from addon.check.facts import Fact
    from addon.check.progress import Steps
    from addon.check.slide.proof import LeafProof

BOARD: Final = Stock("12 mm poplar plywood", 12.0, 12.0)
SHEET: Final = Stock("6 mm birch plywood", 6.0, 6.0)
LID: Final = Role("lid", "LID", "lid", "lids", "Lids", slides=True, rests=True)

INWARD: Final = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True)
class Box:
    """All that is known of a box; mm."""

    name: str = declare.text("Pencil box", "Name", "Name of the box")
    units: Units = "mm"
    length: float = declare.length(300.0, "Length", "Outside length, along the lid's way", low=60)
    width: float = declare.length(150.0, "Width", "Outside width", low=60)
    height: float = declare.length(80.0, "Height", "Outside height", low=40)
    groove_depth: float = declare.length(5.0, "Groove Depth", "Depth of all grooves", low=2)
    wood_above: float = declare.length(8.0, "Wood Above", "Wood above the lid's grooves", low=2)
    play_above: float = declare.length(0.4, "Play Above", "Room above the lid, which lies on its grooves")
    play_beside: float = declare.length(0.5, "Play Beside", "Room between the lid and each groove's bottom")
    end_gap: float = declare.length(1.0, "End Gap", "From the lid to the back")
    front_gap: float = declare.length(0.3, "Front Gap", "From the front's upper edge to the lid")
    limits: Limits = field(default_factory=lambda: Limits(min_clearance=0.15, finger_hole=0.0, end_gap=3.0))
    tolerances: Tolerances = field(default_factory=Tolerances)
    as_cut: tuple[AsCut, ...] = ()
    accepted: tuple[Accepted, ...] = ()


def build(box: Box) -> Assembly:
    """The box with its lid in."""
    t, sheet, depth = BOARD.thickness, SHEET.thickness, box.groove_depth
    inner = box.width / 2 - t
    run = box.length - t
    head = box.height - box.wood_above
    sill = head - sheet - box.play_above

    def board(label: str, kind: str, role: Role, stock: Stock, shape: Shape, place: Placement) -> Part:
        return Part(label, kind, role, stock, shape, place, datum=datum_of(role, shape, place))

    def plain(length: float, width: float, stock: Stock) -> Shape:
        return Shape(rectangle(length, width), stock.thickness)

    def side(face: str) -> Shape:
        grooves = (
            Groove(t, run, 10.0, 10.0 + sheet, depth, face),  # type: ignore[arg-type]
            Groove(-1.0, box.length + 1.0, sill, head, depth, face, leaf="LID1"),  # type: ignore[arg-type]
        )
        return Shape(rectangle(box.length, box.height), t, grooves)

    end = role_of("end")
    reach = inner + depth - box.play_beside
    lid = plain(run - box.end_gap, 2 * reach, SHEET)
    parts = (
        board("S1", "side", SIDE, BOARD, side("front"), Placement.along("+x", "+z", (0.0, -inner, 0.0))),
        board("S2", "side", SIDE, BOARD, side("back"), Placement.along("+x", "+z", (0.0, inner + t, 0.0))),
        board("END1", "front", end, BOARD, plain(2 * inner, sill - box.front_gap, BOARD),
              Placement.along("+y", "+z", (0.0, -inner, 0.0))),
        board("END2", "back", end, BOARD, plain(2 * inner, box.height, BOARD),
              Placement.along("+y", "+z", (run, -inner, 0.0))),
        board("B1", "bottom panel", BOTTOM, SHEET, plain(run - t, 2 * (inner + depth), SHEET),
              Placement.along("+x", "+y", (t, -inner - depth, 10.0))),
        board("LID1", "lid", LID, SHEET, lid, Placement.along("+x", "+y", (0.0, -reach, sill))),
    )  # fmt: skip
    joints = (
        Joint("END1", "S1", "butt", "start"),
        Joint("END1", "S2", "butt", "end"),
        Joint("END2", "S1", "butt", "start"),
        Joint("END2", "S2", "butt", "end"),
        Joint("B1", "S1", "groove"),
        Joint("B1", "S2", "groove"),
        Joint("B1", "END1", "butt", "start"),
        Joint("B1", "END2", "butt", "end"),
    )
    approach = 20.0
    way = Move(-INWARD * (lid.size[0] + approach), np.zeros(3))
    path = StowPath("LID1", "END1", (way,), approach, -INWARD, "END2")
    drawn = Assembly(box.name, parts, joints, (path,), limits=box.limits, tolerances=box.tolerances)
    return apply_as_cut(drawn, box.as_cut)


class BoxDesign:
    """The box as a design."""

    name: str = "box"

    def build(self, parameters: Box) -> Assembly:
        """Its parts."""
        return build(parameters)

    def advise(
        self,
        parameters: Box,
        assembly: Assembly,
        facts: Iterable[Fact],
        options: Sequence[Option] | None = None,
    ) -> list[Finding]:
        """Each fact in a sentence of a box."""
        found = ((fact, *_said(parameters, fact)) for fact in facts)
        return [Finding.of(fact, words, () if remedy is None else (remedy,)) for fact, words, remedy in found]

    def changed(self, parameters: Box, changes: Sequence[Change]) -> Box:
        """The box with new values of its own, or of what was measured."""
        for change in changes:
            entry = re.fullmatch(r"as_cut\[(\d+)\]\.(\w+)", change.key)
            if entry is None:
                parameters = replace(parameters, **{change.key: change.value})
                continue
            cut = list(parameters.as_cut)
            cut[int(entry[1])] = replace(cut[int(entry[1])], **{entry[2]: change.value})
            parameters = replace(parameters, as_cut=tuple(cut))
        return parameters

    def cost(self, before: Box, after: Box) -> str:
        """Nothing."""
        return ""

    def option_steps(self, parameters: Box, proofs: Sequence[LeafProof]) -> Steps[Sequence[Option]]:
        """A lid is held all along: there is nothing to look for."""
        yield 1.0
        return []


BOX: Final = BoxDesign()


def _said(box: Box, fact: Fact) -> tuple[str, Sized | None]:
    amount = format_amount(fact.amount, box.units)
    match fact.cause:
        case causes.TooNear(near=near, room=room):
            above = box.play_above if room is None or room.above is None else room.above
            need = box.play_above + box.limits.min_clearance - above

            def with_play(mm: float) -> Remedy:
                return Remedy(
                    f"Leave {format_amount(mm, box.units)} above the lid", (Change("play_above", mm),)
                )

            return f"The lid jams at {fact.parts[0]}, {near}: {amount}.", Sized(with_play, need, need + 3.0)
        case causes.StopsEarly():
            return f"The lid stands {amount} out of the box: it is too long.", None
        case on_the_way.IsHeld():
            return f"The lid does not go in, however it is tilted: it lacks {amount}.", None
        case _:
            return f"{fact.rule}: {amount}.", None
