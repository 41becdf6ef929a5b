"""Screws, brads and bolts whose tips, edges, cuts or drivers are amiss: what to say, and what is worth trying."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

import numpy as np

from ....check.facts import Fact
from ....check.fasteners import InCut, NearEdge, NoDriver, TipOut, TipShort
from ....wood.fasteners import Fastener
from ....wood.screw_sizes import BRADS, LENGTHS, SCREWS
from ...findings import Candidate, Change, Remedy
from ..fastener_spots import contact_of
from .case import Advice, Case

FastenerCause = TipOut | TipShort | InCut | NearEdge | NoDriver


def blamed(case: Case, cause: FastenerCause) -> frozenset[str]:
    """What stands in one joint is one matter, whichever of its fasteners tells; so are the bolts of all legs."""
    if isinstance(cause, NearEdge) and cause.clamping:
        return frozenset({"into edges"})
    if isinstance(cause, NoDriver) and _of_a_leg(case, cause.fastener):
        return frozenset({"bolts of legs"})
    return frozenset({f"{type(cause).__name__} of {sorted(cause.fastener.joins)}"})


def said(case: Case, cause: FastenerCause) -> Advice:
    """One sentence, and a shorter or longer one, another place, or another face."""
    one = cause.fastener
    match cause:
        case TipOut():
            return Advice(
                _tip_out(case, cause), *shorter(case, one, cause.need - cause.wood), *elsewhere(case, one)
            )
        case TipShort():
            message = f"{_called(one)} does not reach {cause.board} and holds nothing."
            return Advice(message, *_longer(case, one), *elsewhere(case, one))
        case InCut():
            return Advice(
                _in_cut(case, cause), *elsewhere(case, one), *shorter(case, one, 0.0), *_other_face(case, one)
            )
        case NearEdge():
            return Advice(_near_edge(case, cause), *elsewhere(case, one), *_thinner(case, one, cause))
        case NoDriver():
            takes = "taking it back with a wrench" if one.kind == "bolt" else "a driver with its bit"
            message = (
                f"Behind {_called(one)} there are only {case.place(cause.room)} to {cause.by}; {takes}"
                f" takes {case.place(cause.need)}."
            )
            by_hand = f"Drive {one.label} before {cause.by} goes in"
            if one.kind != "bolt":
                by_hand += ", or use a right-angle driver"
            if _of_a_leg(case, one):
                kept = "Glue the legs into their corners, so that they do not come off"
                return Advice(message, Remedy(kept, (Change("legs.kind", "corner"),)), Remedy(by_hand))
            return Advice(message, *_other_face(case, one), *elsewhere(case, one), Remedy(by_hand))


def _of_a_leg(case: Case, one: Fastener) -> bool:
    """Whether it is a bolt that comes with its leg, which has no entry and no other place."""
    return case.table.legs.kind == "bolted" and one.kind == "bolt" and _entry_of(case, one) is None


def _called(one: Fastener) -> str:
    return f"{one.label} ({one.name} through {one.joins[0]} into {one.joins[-1]})"


def _tip_out(case: Case, cause: TipOut) -> str:
    where = "out of a face beside it" if cause.beside else "out of the far face"
    if cause.wood < 0:
        return (
            f"The tip of {_called(cause.fastener)} comes {case.words(-cause.wood)} {where} of {cause.board}."
        )
    side = "beside" if cause.beside else "ahead of"
    return (
        f"Only {case.words(cause.wood)} of {cause.board} are left {side} the tip of {_called(cause.fastener)};"
        f" {case.words(cause.need)} should be."
    )


def _in_cut(case: Case, cause: InCut) -> str:
    wander = ", brads wander" if cause.fastener.kind == "brad" else ""
    if cause.distance < 0:
        return (
            f"{_called(cause.fastener)} stands {case.words(-cause.distance)} in the {cause.cut} of {cause.board},"
            f" {case.place(cause.along)} from its head{wander}: the blade or bit meets steel there."
        )
    return (
        f"{_called(cause.fastener)} comes within {case.words(cause.distance)} of the {cause.cut} of {cause.board}"
        f"{wander}; {case.words(cause.need)} should be left."
    )


def _near_edge(case: Case, cause: NearEdge) -> str:
    has, need = cause.diameters
    one = cause.fastener
    return (
        f"{_called(one)} is {case.words(cause.distance)}, {has:.2f} diameters, from the {cause.of} of {cause.board};"
        f" {cause.source} asks for {need:g} diameters, {case.words(cause.need)}."
    )


def clamping(case: Case, group: Sequence[Fact], cause: NearEdge) -> Advice:
    """Screws into edges of boards too thin for the rule: they clamp, and the glue has to carry."""
    has, need = cause.diameters
    more = (
        f" So do {len(group) - 1} more."
        if len(group) > 2
        else " So does one more."
        if len(group) == 2
        else ""
    )
    return Advice(
        f"{_called(cause.fastener)} goes into the edge of {cause.board} {case.words(cause.distance)} from its face:"
        f" {has:.2f} diameters, where {cause.source} asks for {need:g}. Take it for a glued joint with a clamping"
        f" {cause.fastener.name}.{more}",
        Remedy("Drill a lead hole, clamp the plies while you drive it, and let the glue carry"),
    )


# -- what is worth trying: all fasteners of the joint as entries of the maker's own, with one of them otherwise
# ----------------------------------------------------------------------------------------------------------------


def shorter(case: Case, one: Fastener, by: float) -> Iterator[Candidate]:
    """The lengths that are sold and at least so much shorter, the longest first; two of them."""
    sold = (BRADS if one.kind == "brad" else LENGTHS)[case.table.units]
    fitting = [size for size in sorted(sold, reverse=True) if size <= one.sold_length - max(by, 0.5)]
    for size in fitting[:2]:
        yield Remedy(
            f"Use a {one.name} {case.given(size)} long for {one.label}", _as_entries(case, one, length=size)
        )
    if not fitting:
        yield Remedy(f"Use a shorter {one.name} for {one.label}, or put it elsewhere")


def _longer(case: Case, one: Fastener) -> Iterator[Candidate]:
    sold = (BRADS if one.kind == "brad" else LENGTHS)[case.table.units]
    for size in [size for size in sold if size > one.sold_length][:4]:
        yield Remedy(
            f"Use a {one.name} {case.given(size)} long for {one.label}", _as_entries(case, one, length=size)
        )


def elsewhere(case: Case, one: Fastener) -> Iterator[Candidate]:
    """Places along the joint, the nearest first, and then what is proposed for the joint."""
    place = _place(case, one)
    if place is not None:
        along, _, run = place
        for step in (10.0, -10.0, 20.0, -20.0, 40.0, -40.0):
            at = case.less(along + step)
            if 0 < at < run:
                way = "on" if step > 0 else "back"
                text = f"Put {one.label} {case.given(abs(at - along))} farther {way} along the joint"
                yield Remedy(text, _as_entries(case, one, along=at))
    yield Remedy(f"Put {one.label} elsewhere, or leave it out")


def _other_face(case: Case, one: Fastener) -> Iterator[Candidate]:
    if one.kind == "pocket screw":
        for face in ("front", "back"):
            yield Remedy(
                f"Bore the pocket of {one.label} into the {face} face of {one.joins[0]}",
                _as_entries(case, one, face=face),
            )


def _thinner(case: Case, one: Fastener, cause: NearEdge) -> Iterator[Candidate]:
    need = cause.diameters[1]
    for size in SCREWS[case.table.units]:
        if one.kind in ("screw", "pocket screw") and size.diameter < min(
            one.sizes.shank, cause.distance / need + 1e-6
        ):
            yield Remedy(
                f"Use a {size.name} screw for {one.label}", _as_entries(case, one, diameter=size.diameter)
            )
            return


def _as_entries(case: Case, one: Fastener, **changed: float | str) -> tuple[Change, ...]:
    """Changes that write down all fasteners of a joint, with one of them otherwise; its own entry is changed alone."""
    own = _entry_of(case, one)
    if own is not None:
        return tuple(Change(f"fastener[{own}].{name}", value) for name, value in changed.items())
    number = len(case.table.fastener)
    found: list[Change] = []
    for other in case.assembly.fasteners:
        if {*other.joins} != {*one.joins}:
            continue
        place = _place(case, other)
        if place is None:
            return ()
        values: dict[str, float | str] = {
            "kind": other.kind, "head": other.joins[0], "into": other.joins[-1], "along": case.finely(place[0]),
            "length": case.finely(other.sold_length), "diameter": other.sizes.shank,
        }  # fmt: skip
        if other.kind == "pocket screw":
            values["face"] = _pocket_face(case, other)
        else:
            values["across"] = case.finely(place[1])
        values |= changed if other is one else {}
        found += [Change(f"fastener[{number}].{name}", value) for name, value in values.items()]
        number += 1
    return tuple(found)


def _entry_of(case: Case, one: Fastener) -> int | None:
    """Which of the maker's own entries a fastener is."""
    own = [
        number
        for number, entry in enumerate(case.table.fastener)
        if (entry.head, entry.into) == (one.joins[0], one.joins[-1]) and entry.kind == one.kind
    ]
    same = [other for other in case.assembly.fasteners if other.joins == one.joins and other.kind == one.kind]
    if len(own) != len(same):
        return None
    ordered = sorted(own, key=lambda number: _along_of(case, number))
    by_place = sorted(same, key=lambda other: (_place(case, other) or (inf,))[0])
    return ordered[by_place.index(one)]


def _along_of(case: Case, number: int) -> float:
    entry = case.table.fastener[number]
    contact = contact_of(case.assembly.by_label[entry.head], case.assembly.by_label[entry.into])
    if contact is None:
        return inf
    axis = contact.sides(entry.kind == "pocket screw")[0]
    return float(contact.high[axis] - contact.low[axis]) / 2 if entry.along is None else entry.along


def _place(case: Case, one: Fastener) -> tuple[float, float, float] | None:
    """Along and across its joint, and how long that is, mm."""
    boards = [case.assembly.by_label.get(label) for label in (one.joins[0], one.joins[-1])]
    if boards[0] is None or boards[1] is None:
        return None
    contact = contact_of(boards[0], boards[1])
    if contact is None:
        return None
    along, across = contact.sides(one.kind == "pocket screw")
    start = np.asarray(one.start)
    return (
        float(start[along] - contact.low[along]),
        float(start[across] - contact.low[across]),
        float(contact.high[along] - contact.low[along]),
    )


def _pocket_face(case: Case, one: Fastener) -> str:
    inward = case.assembly.by_label[one.joins[0]].placement.axes[2] @ np.asarray(one.direction)
    return "front" if inward > 0 else "back"


def in_the_way(case: Case, one: Fastener) -> list[Candidate | None]:
    """For what stands in a leaf's way, or in another part: a shorter one, or another place."""
    return [*shorter(case, one, 0.0), *elsewhere(case, one)]
