"""The default sizes, searched for: ``python3 scripts/choose_defaults.py [--step NAME ...]``.

What a default table is wanted to be: nothing to warn of as drawn, as many tables that work and that guide their leaves
as `limits.share` asks for, leaves that guide themselves for whoever holds the outer end within `limits.hand`; of all
that is so, the one with the most knee clearance, then with the fewest parts, then with the smallest chamfers. Both
shipped tables have to come out so. Each step tries one kind of choice with what the steps before have chosen, and
prints what it saw as a Markdown table; the contributors' guide shows them.
"""

from __future__ import annotations

import environment

if __name__ == "__main__":
    environment.enter("light")

import argparse
import sys
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Any, Final

from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.designs.table import build
from addon.designs.table.design import answer_steps
from addon.designs.table.figures import room_below
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.sizes.errors import DryAssemblyError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from addon.designs.table.parameters import Table

Values = dict[str, Any]

BEFORE: Final[Values] = {
    "ribs.upper_windows": "closed", "ribs.window_chamfer": 2.0, "ribs.stand_off": 0.0, "leaves.lead_chamfer": 0.0,
    "sides.slot_chamfer": 3.0, "sides.wood_above_slots": 8.0, "sides.wood_below_slots": 22.0,
    "stowing.clearance_above": 1.5, "stowing.clearance_below": 1.5, "stowing.side_clearance": 2.0,
    "stowing.runners": False, "stowing.kickers": False, "stowing.guides": False,
}  # fmt: skip
"""Where the search sets out: sizes of table files of format 2, in mm."""

STRIPS: Final[dict[str, Values]] = {
    "none": {},
    "guides": {"stowing.guides": True},
    "guides, kickers": {"stowing.guides": True, "stowing.kickers": True},
    "guides, runners": {"stowing.guides": True, "stowing.runners": True},
    "guides, kickers, runners": {"stowing.guides": True, "stowing.kickers": True, "stowing.runners": True},
}


@dataclass(frozen=True)
class Outcome:
    """What comes of one table; lengths in mm, shares from 0 to 1, -1 where it cannot be built."""

    drawn: str
    warned: tuple[str, ...]
    works: float
    by_hand: str
    steer: float | None
    guides: float
    knee: float
    parts: int

    def holds(self, share: float) -> bool:
        """Whether it is as wanted."""
        sound = self.drawn == "clear" and not self.warned and self.by_hand == "guides-itself"
        return sound and min(self.works, self.guides) >= share

    def cells(self, share: float) -> list[str]:
        """As cells of a table."""
        steer = "any" if self.steer is None else f"±{self.steer:.1f}"
        drawn = self.drawn if not self.warned else f"{self.drawn} ({', '.join(self.warned)})"
        return [
            drawn, f"{self.works:.1%}", f"{self.by_hand}, {steer}", f"{self.guides:.1%}", f"{self.knee:.1f}",
            str(self.parts), "yes" if self.holds(share) else "",
        ]  # fmt: skip


HEADS: Final = ["as drawn", "works", "by hand", "guides", "knee", "parts", "holds"]


def outcome(table: Table) -> Outcome:
    """Build a table and ask everything that counts."""
    try:
        assembly = build(table)
    except DryAssemblyError as error:
        return Outcome("refused", (str(error),), -1.0, "", None, -1.0, -1.0, 0)
    report = run_through(answer_steps(table, prepare(assembly)))
    told = report.answers.table
    assert told.in_shop is not None
    assert told.by_hand.guides is not None
    warned = {one.rule for one in report.findings if one.severity != "note"} - {"few-work", "few-guide"}
    return Outcome(
        told.as_drawn.verdict, tuple(sorted(warned)), told.in_shop.share.value,
        told.by_hand.verdict, told.by_hand.steer, told.by_hand.guides.value, room_below(assembly), len(assembly.parts),
    )  # fmt: skip


def tried(name: str, values: Mapping[str, Any]) -> Outcome:
    """One of the shipped tables with other values."""
    table = EXAMPLES[name].table()
    return outcome(set_values(table, {key: ruled(value, table.units) for key, value in values.items()}))


def ruled(value: object, units: str) -> object:
    """A size that an inch rule shows, next above one in mm: in 32nds, clearances in 64ths."""
    if not isinstance(value, float) or units == "mm":
        return value
    part = 25.4 / (64 if value < 2.0 else 32)
    return ceil(value / part - 1e-9) * part


class Step:
    """Rows of one step, printed as they come."""

    def __init__(self, title: str, columns: Iterable[str]) -> None:
        print(f"\n**{title}**\n\n| table | {' | '.join(columns)} | {' | '.join(HEADS)} |")
        print("|" + "---|" * (1 + len(list(columns)) + len(HEADS)), flush=True)

    def row(self, name: str, what: Iterable[object], values: Mapping[str, Any]) -> Outcome:
        """Try one set of values and print what comes of it."""
        found = tried(name, values)
        share = EXAMPLES[name].table().limits.share
        cells = [name, *map(str, what), *found.cells(share)]
        print(f"| {' | '.join(cells)} |", flush=True)
        return found


# -- the steps, each with what those before have chosen
# ------------------------------------------------------------------------------------------------------------


def wood() -> None:
    """How much wood above and below the slots either kind of upper windows needs before anything warns."""
    step = Step("Wood above and below the slots", ["upper windows", "above", "below"])
    for name in EXAMPLES:
        for windows, above, below in (
            ("closed", 8.0, 22.0), ("closed", 11.5, 22.0), ("closed", 12.0, 22.0),
            ("open", 5.5, 22.0), ("open", 6.0, 22.0), ("open", 6.0, 26.0), ("open", 6.0, 26.9), ("open", 6.0, 28.0),
        ):  # fmt: skip
            values = {
                "ribs.upper_windows": windows,
                "sides.wood_above_slots": above,
                "sides.wood_below_slots": below,
            }
            step.row(name, (windows, above, below), BEFORE | values)


OPEN: Final = BEFORE | {"ribs.upper_windows": "open", "sides.wood_above_slots": 6.0}


def of_table(name: str) -> Values:
    """What one of the tables needs for itself: a bar below open windows that bears the load, where one tier is all."""
    return OPEN if name == "quilting" else OPEN | {"sides.wood_below_slots": 26.9}


def strips() -> None:
    """Which strips, with which chamfer at windows and lead, ribs flush with the openings."""
    step = Step("Strips and chamfers, ribs flush with the openings", ["strips", "chamfers"])
    for name in EXAMPLES:
        for words, fitted in STRIPS.items():
            for size in (4.0, 5.0, 6.0, 7.0):
                chamfers = {"ribs.window_chamfer": size, "leaves.lead_chamfer": size}
                step.row(name, (words, size), of_table(name) | fitted | chamfers)


def stand_off() -> None:
    """How far ribs stand back from the openings beside them."""
    step = Step("Stand-off of the ribs beside a way, with guides and chamfers of 6", ["stand-off"])
    chamfers = {"ribs.window_chamfer": 6.0, "leaves.lead_chamfer": 6.0, "stowing.guides": True}
    for name in EXAMPLES:
        for off in (0.0, 0.5, 1.0, 1.5, 2.0):
            step.row(name, (off,), of_table(name) | chamfers | {"ribs.stand_off": off})


def chamfers() -> None:
    """Window and lead apart, with guides and ribs that stand back."""
    step = Step("Chamfers, ribs standing back by 1.5", ["strips", "windows", "lead"])
    for name in EXAMPLES:
        kinds = ["none", "guides"] if name == "quilting" else ["none", "guides", "guides, runners"]
        for words in kinds:
            for window, lead in (
                (3.0, 3.0),
                (4.0, 4.0),
                (5.0, 5.0),
                (5.0, 6.0),
                (6.0, 5.0),
                (6.0, 6.0),
                (7.0, 7.0),
            ):
                sizes = {"ribs.window_chamfer": window, "leaves.lead_chamfer": lead, "ribs.stand_off": 1.5}
                step.row(name, (words, window, lead), of_table(name) | STRIPS[words] | sizes)


def clearances() -> None:
    """Room above, below and beside the leaves, with all that has been chosen."""
    step = Step("Clearances", ["above and below", "beside"])
    for name in EXAMPLES:
        strip = STRIPS["guides" if name == "quilting" else "guides, runners"]
        sizes = {"ribs.window_chamfer": 6.0, "leaves.lead_chamfer": 6.0, "ribs.stand_off": 1.5}
        for upright, beside in ((0.8, 2.0), (1.0, 2.0), (1.2, 2.0), (1.5, 2.0), (1.5, 1.5), (1.5, 3.0)):
            rooms = {
                "stowing.clearance_above": upright,
                "stowing.clearance_below": upright,
                "stowing.side_clearance": beside,
            }
            step.row(name, (upright, beside), of_table(name) | strip | sizes | rooms)


STEPS: Final = {
    "wood": wood, "strips": strips, "stand-off": stand_off, "chamfers": chamfers, "clearances": clearances
}  # fmt: skip


def main() -> int:
    """All steps, or those that are named."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument(
        "--step", action="append", choices=[*STEPS], help="only this step; may be given again"
    )
    for name in parser.parse_args().step or STEPS:
        STEPS[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main())
