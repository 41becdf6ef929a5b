"""What bends or holds too little under the load: bars and panel at windows that are open above, leaves side by side."""

from __future__ import annotations

from ....check.causes import LittleGlue, PanelOverGap, WeakBar
from ....check.facts import Fact
from ....check.slide.study import StepsDown
from ....sizes.quantities import format_quantity
from ...findings import Change, Remedy, Sized
from .case import MARGIN, Advice, Case


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
        return Advice(message, Remedy("Hook center supports under the joints of the leaves", (change,)))

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
