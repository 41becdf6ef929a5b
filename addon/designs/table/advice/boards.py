"""Boards that keep too little wood, the sheets they are cut from, and what bends or holds too little under load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ....check.board_causes import BowedLeaf, BowedRib, ThinWood, UnmeasuredSheet
from ....check.causes import LittleGlue, PanelOverGap, WeakBar
from ....check.facts import Fact
from ....check.slide.study import StepsDown
from ....sizes.declare import parameters
from ....sizes.quantities import format_quantity
from ....sizes.words import listed
from ...findings import Candidate, Change, Remedy, Sized, by_number, places_text
from ..parameters import SECTIONS
from .by_hand import remade
from .case import MARGIN, Advice, Case

MOST: Final = 40.0
"""How much more wood than is needed a remedy looks for at most, mm."""


def thin_wood(case: Case, fact: Fact, cause: ThinWood) -> Advice:
    """Too little wood between two cuts, or between a cut and an edge or a face."""
    over = (
        f" over a length of {case.place(cause.length)}" if cause.need > case.table.limits.least_wood else ""
    )
    said = f"{cause.part} keeps {case.words(cause.wood)} of wood between {cause.one} and {cause.other}{over}"
    if cause.at_face <= 0:
        said += ", and nothing at its face, where their chamfers meet"
    elif cause.at_face < cause.wood:
        said += f", {case.words(cause.at_face)} at its face"
    others = [place.parts[0] for place in fact.others if place.parts[0] != cause.part]
    same = f"; as little in {', '.join(dict.fromkeys(others))}" if others else ""
    breaks = "breaks at the router" if over else "breaks out"
    return Advice(
        f"{said}: less than {case.given(cause.need)} {breaks}{same}.",
        remade(case, cause.part),
        *_more_wood(case, cause),
        Remedy(
            f"Rout {cause.part} while it is still wider, and trim it when the strip is glued"
            if over
            else f"Cut {cause.part} anew with {case.given(cause.need)} of wood there"
        ),
    )


def _more_wood(case: Case, cause: ThinWood) -> list[Candidate]:
    """What of the table may be otherwise, the least work first."""
    kinds, lack = {*cause.kinds}, cause.need - cause.wood
    edge = cause.other if "edge" in cause.kinds else ""
    if (kinds <= {"slot", "window", "groove"} and "groove" in kinds) or edge == "the upper edge":
        more = _sized(case, "sides.wood_above_slots", lack, "Leave {} of wood above the slots")
        return [more, _OPENED] if edge and cause.leaf else [more]
    if edge == "the lower edge":
        return [_sized(case, "sides.wood_below_slots", lack, "Leave {} of wood below the slots")]
    if kinds <= {"slot", "window"}:
        return [_sized(case, "stowing.tier_gap", lack, "Leave {} of wood between the tiers")]
    if kinds == {"window", "edge"}:
        key, words = (
            "ribs.least_wood_beside_window",
            "Let windows run out of a rib's end where less than {} would stay",
        )
        return [_sized(case, key, lack, words, cause.wood + lack)]
    if "face" in kinds:
        return [_shallower(case, key, lack) for key in _DEPTHS.get(cause.kinds[0], ())]
    if "hole" in kinds:
        return [
            _sized(
                case, "leaves.finger_hole_inset", lack, "Drill the finger hole {} from the leaf's outer end"
            ),
            _shallower(case, "leaves.finger_hole", 2 * lack, "Drill a finger hole {} wide"),
        ]
    if kinds & {"pull", "tray"}:
        return [
            _sized(case, "leaves.pull_inset", lack, "Rout the pull {} from the leaf's outer end"),
            _sized(case, "leaves.tray_border", lack, "Leave a border of {} around the tray recess"),
        ]
    return []


_OPENED: Final = Remedy(
    "Open the windows of the upper tier to the bottom panel", (Change("ribs.upper_windows", "open"),)
)

_DEPTHS: Final = {
    "groove": ("bottom.groove_depth",),
    "tray": ("leaves.tray_depth",),
    "pull": ("leaves.pull_depth",),
}


def _now(case: Case, key: str) -> tuple[float, float, float]:
    """The value of a key, and the least and the greatest that a file may hold, mm."""
    section, name = key.split(".")
    declared = next(one for one in parameters(SECTIONS[section]) if one.name == name)
    value = float(getattr(getattr(case.table, section), name))
    return value, declared.low or 0.0, declared.high or value + MOST


def _sized(case: Case, key: str, lack: float, words: str, need: float | None = None) -> Sized:
    """A greater size."""
    value, _, high = _now(case, key)
    need = value + lack if need is None else need
    return Sized(
        lambda mm: Remedy(words.format(case.given(mm)), (Change(key, mm),)), need, min(need + MOST, high)
    )


def _shallower(case: Case, key: str, lack: float, words: str = "Rout it only {} deep") -> Sized:
    """A smaller size."""
    value, low, _ = _now(case, key)
    return Sized(lambda mm: Remedy(words.format(case.given(mm)), (Change(key, mm),)), value - lack, low)


# -- sheets
# ------------------------------------------------------------------------------------------------------------


def unmeasured(case: Case, cause: UnmeasuredSheet) -> Advice:
    """A sheet of which nobody knows how thick it is."""
    return Advice(
        f"Nobody measured {cause.stock}: what is sold as {case.given(cause.nominal)} may be"
        f" {case.words(cause.least)} to {case.words(cause.most)} thick.",
        Remedy(
            "Measure the sheet with a caliper at eight places about 50 mm from its edges, and enter their mean"
            if case.table.units == "mm"
            else "Measure the sheet with a caliper at eight places about 2 in from its edges, and enter their mean"
        ),
    )


def bowed(case: Case, group: Sequence[Fact], cause: BowedLeaf) -> Advice:
    """Leaves of one sheet that is not flat enough for the room in their openings, the worst first."""
    first, leaves = group[0], sorted((fact.leaf for fact in group), key=by_number)
    kinds = [
        f"{word} {case.words(mm)}" for word, mm in (("bow", cause.bow), ("twist", cause.twist)) if mm > 0
    ]
    others = [leaf for leaf in leaves if leaf != first.leaf]
    also = f" So {'does' if len(others) == 1 else 'do'} {listed(others)}." if others else ""
    return Advice(
        f"{first.leaf} is not flat: its {' and its '.join(kinds)} in its openings"
        f" {'is' if len(kinds) == 1 else 'are'} more than the {case.words(cause.play)} of room there; it rubs above"
        f" and below.{also}",
        _sized(case, "stowing.clearance_above", first.amount, "Leave {} above every leaf"),
        Remedy(
            f"Cut {listed(leaves)} from a flatter sheet, or from"
            f" {'a flatter part' if len(leaves) == 1 else 'flatter parts'} of this one"
        ),
    )


def bowed_rib(case: Case, fact: Fact, cause: BowedRib) -> Advice:
    """Ribs that bow toward a leaf's way."""
    also = f" Also: {places_text(fact.others)}." if fact.others else ""
    return Advice(
        f"{cause.rib} is not flat: it bows {case.words(cause.bow)} over the {case.place(cause.span)} between the ends"
        f" that hold it, and there are {case.words(cause.room)} of room beside {cause.leaf}.{also}",
        _sized(case, "ribs.stand_off", fact.amount, "Let ribs stand {} back from the leaves' openings"),
        Remedy(
            f"Clamp {cause.rib} straight along a batten until its glue holds, or cut it from a flatter sheet"
        ),
    )


# -- under the load
# ----------------------------------------------------------------------------------------------------


def weak_bar(case: Case, cause: WeakBar) -> Advice:
    """The bar below a window that is open above: what is left of it grows with the wood below the slots."""
    below = case.table.sides.wood_below_slots
    # Stiffness grows with the third power of the height.
    higher = cause.height * ((cause.sag / cause.allowed) ** (1 / 3) - 1)

    def deeper(size: float) -> Remedy:
        return Remedy(
            f"Leave {case.given(size)} of wood below the slots", (Change("sides.wood_below_slots", size),)
        )

    return Advice(
        f"Below the way of {cause.leaf} the bar of {cause.part}, {case.place(cause.height)} high and"
        f" {case.place(cause.span)} long, bends by {case.words(cause.sag)} under {_load(case)};"
        f" {case.words(cause.allowed)} is allowed.",
        Sized(deeper, below + higher, below + 3 * higher + 5.0),
        _closed(),
        Remedy(f"Glue a strip along the bar of {cause.part}, where no leaf passes"),
    )


def little_glue(case: Case, cause: LittleGlue) -> Advice:
    """An end of such a bar that hangs on too little glue."""
    where = f"At its {cause.end} {cause.part}"
    if cause.length <= MARGIN:
        said = f"{where} is not glued to {cause.panel}, and no block screws it to the board there"
        return Advice(
            f"{said}.",
            Remedy(
                f"Screw a block into the corner between {cause.part} and the board that it butts on, where one fits"
            ),
            _closed(),
        )
    beside = case.table.ribs.wood_beside_window

    def wider(size: float) -> Remedy:
        return Remedy(
            f"Leave {case.given(size)} of wood beside windows", (Change("ribs.wood_beside_window", size),)
        )

    return Advice(
        f"{where} is glued to {cause.panel} over {case.place(cause.length)} only beside the way of"
        f" {cause.leaf}; {case.place(cause.need)} hold half of {_load(case)}.",
        Sized(wider, beside + cause.need - cause.length + MARGIN, beside + 2 * cause.need),
        _closed(),
        Remedy(f"Screw a block into the corner between {cause.part} and {cause.panel}, where one fits"),
    )


def panel_over_gap(case: Case, cause: PanelOverGap) -> Advice:
    """A panel that bends over a gap in the boards under it."""
    thickness = case.assembly.by_label[cause.panel].shape.thickness
    enough = case.more(thickness * (cause.sag / cause.allowed) ** (1 / 3))
    wide, long = sorted(high - low for low, high in cause.spans)
    return Advice(
        f"{cause.panel} bends by {case.words(cause.sag)} under {_load(case)} where the window of {cause.part} is"
        f" open to it: nothing holds it over {case.place(wide)} by {case.place(long)};"
        f" {case.words(cause.allowed)} is allowed.",
        _closed(),
        Remedy(f"Cut the bottom panel from a sheet of {case.given(enough)} or more"),
    )


def steps_down(case: Case, fact: Fact, cause: StepsDown) -> Advice:
    """A covering leaf that sinks too far beside its neighbors."""
    step, well = cause.step, case.table.well
    without = f" ({case.words(step.before)} without center supports)" if step.supports else ""
    message = (
        f"{fact.parts[0]} sinks {case.words(step.after)} beside its neighbors under {_load(case)} at its"
        f" middle{without}; {case.words(step.allowed)} is allowed."
    )
    if not well.center_supports:
        change = Change("well.center_supports", True)
        supports = Remedy("Hook center supports under the joints of the leaves", (change,))
        return Advice(message, supports, Remedy("Cut the leaves from a thicker sheet"))

    def lower(size: float) -> Remedy:
        return Remedy(
            f"Keep work in the well no higher than {case.given(size)}, and make the center supports as high as"
            " that allows",
            (Change("well.work_height", size),),
        )

    return Advice(
        message, Sized(lower, well.work_height - 1.0, 0.0), Remedy("Cut the leaves from a thicker sheet")
    )


def _closed() -> Remedy:
    return Remedy("Close the windows of the upper tier", (Change("ribs.upper_windows", "closed"),))


def _load(case: Case) -> str:
    return format_quantity(case.table.limits.load, "N", case.table.units)
