"""Boards that keep too little wood, and the sheets that they are cut from."""

from __future__ import annotations

from typing import Final

from ....check.board_causes import BowedLeaf, ThinWood, UnmeasuredSheet
from ....check.facts import Fact
from ....sizes.declare import parameters
from ...findings import Candidate, Change, Remedy, Sized
from ..parameters import SECTIONS
from .by_hand import remade
from .case import Advice, Case

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


def bowed(case: Case, fact: Fact, cause: BowedLeaf) -> Advice:
    """A leaf that is not flat enough for the room in its openings."""
    kinds = [
        f"{word} {case.words(mm)}" for word, mm in (("bow", cause.bow), ("twist", cause.twist)) if mm > 0
    ]
    return Advice(
        f"{fact.leaf} is not flat: its {' and its '.join(kinds)} in its openings are more than the"
        f" {case.words(cause.play)} of room there; it rubs above and below.",
        _sized(case, "stowing.clearance_above", fact.amount, "Leave {} above every leaf"),
        Remedy(f"Cut {fact.leaf} from a flatter sheet, or from a flatter part of this one"),
    )
