"""Random tables that are sound: for tests and for the defect bench, the same one from the same seed.

Sizes are drawn such that most tables work out; those that do not are refused by the design, or by the reckoning with
plain boxes, and drawn anew. The checker is never asked.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from random import Random
from typing import TYPE_CHECKING

from addon.designs.table import build
from addon.designs.table.parameters import (
    Bottom,
    Leaves,
    Legs,
    Outside,
    Ribs,
    Sides,
    Stow,
    Stowing,
    Table,
    Well,
)
from addon.sizes.errors import DryAssemblyError
from addon.wood.limits import Limits
from addon.wood.stock import Stock, sanded_limits
from plain_boxes import SLIVER, PlainTable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from addon.wood.assembly import Assembly

ROOM = 0.2
"""Every leaf of a sound table has at least this much more room than the least clearance, mm."""


class NotSound(Exception):
    """A table that was drawn and does not work out."""


def sound_tables(number: int, seed: int = 0) -> Iterator[tuple[Table, Assembly]]:
    """`number` sound tables with what the design makes of them."""
    for index in range(number):
        yield sound_table(f"{seed}/{index}")


def sound_table(seed: object) -> tuple[Table, Assembly]:
    """The sound table of a seed, and its assembly."""
    for attempt in count():
        try:
            return draw(Random(f"{seed}/{attempt}"))
        except (DryAssemblyError, NotSound):
            continue
    raise AssertionError


def draw(random: Random) -> tuple[Table, Assembly]:
    """One table at random. Raises DryAssemblyError or NotSound where it does not work out."""
    table = _without_stow(random)
    table = replace(table, stow=_stow(random, table))
    drawn = build(table)
    _must_be_sound(table, drawn)
    return table, drawn


def _must_be_sound(table: Table, drawn: Assembly) -> None:
    boxes = PlainTable(drawn)
    if boxes.overlaps():
        raise NotSound("boards overlap")
    for path in drawn.stow_paths:
        if min(boxes.gaps(path.leaf).values()) < table.limits.min_clearance + ROOM - SLIVER:
            raise NotSound(f"{path.leaf} lacks room")
        if boxes.ahead(path.leaf)[0] > table.limits.end_gap:
            raise NotSound(f"nothing stops {path.leaf}")


# -- sizes
# ----------------------------------------------------------------------------------------------------------


def _without_stow(random: Random) -> Table:
    """Everything but the leaves' stow positions."""
    least = random.choice([0.0, 0.3, 0.5, 1.0])
    stocks = {use: _stock(random, use) for use in ("sides", "bottom", "ribs", "leaves", "legs")}
    radius = random.choice([0.0, 1.5, 3.0, random.uniform(0.0, 5.0)])
    most_radius = stocks["leaves"].thickness / 2 - 0.5
    side = stocks["sides"].thickness
    well, end_gap = random.uniform(25, 80), random.uniform(0.5, 3)
    slot_chamfer = random.choice([0.0, random.uniform(0.5, 4)])
    window_chamfer = random.choice([0.0, random.uniform(0.5, 3)])
    round_over = random.choice([0.0, random.uniform(1, 8)])
    groove_depth = random.uniform(3, min(9, side - 4.5))
    chamfer = max(slot_chamfer, window_chamfer)
    nose_gap = random.uniform(least + ROOM, 12)
    lie = random.choice(["across", "along"])
    outside = Outside(
        length=random.uniform(800, 2400),
        width=random.uniform(500, 1300),
        height=random.uniform(600, 1000),
        corner_joint=random.choice(["butted", "mitered"]),
    )
    # Drawn by themselves, so that all else is what it was before there were such windows.
    windows = Random(f"windows/{outside.length}").choice(["closed", "closed", "open"])
    well_length = (outside.length if lie == "across" else outside.width) - 2 * side
    return Table(
        name="random table",
        table=outside,
        sides=Sides(
            stock="sides",
            corner_radius=radius,
            slot_chamfer=slot_chamfer,
            wood_above_slots=max(2.0, chamfer + random.uniform(1, 15)),
            wood_below_slots=chamfer + round_over + random.uniform(6, 30),
            lower_round_over=round_over,
            round_over_stop=random.uniform(0, 30),
        ),
        bottom=Bottom(
            stock="bottom", groove_depth=groove_depth, groove_slack=random.uniform(0, groove_depth / 3)
        ),
        well=Well(depth=well, ledger_stock="sides", ledger_height=random.uniform(10, well)),
        ribs=Ribs(
            stock="ribs",
            upper_windows=windows,
            window_chamfer=window_chamfer,
            wood_beside_window=random.uniform(25, 60),
            least_wood_beside_window=random.uniform(5, 20),
            max_bay=random.uniform(300, 900),
        ),
        leaves=Leaves(
            stock="leaves",
            count=random.randint(1, 8),
            direction=lie,
            cover_length=random.choice([None, well_length * random.uniform(0.3, 1.0)]),
            gap=random.uniform(0, 3),
            end_gap=end_gap,
            edge_radius=min(most_radius, radius + random.choice([0.0, random.uniform(0, 2)])),
            finger_hole=random.choice([0.0, random.uniform(20, 32)]),
            finger_hole_inset=random.uniform(22, 40),
        ),
        stowing=Stowing(
            side_clearance=least + ROOM + random.uniform(0, 4),
            clearance_above=least + ROOM + random.uniform(0, 2),
            clearance_below=least + ROOM + random.uniform(0, 2),
            tier_gap=2 * chamfer + random.uniform(1, 6),
            set_back=side + 2 * end_gap - nose_gap,
            approach=random.uniform(1, 100),
            end_stops=random.random() < 0.9,
            stop_gap=least + ROOM + random.uniform(0, 3),
            runners=random.random() < 0.25,
            kickers=random.random() < 0.25,
            guides=random.random() < 0.25,
            strip_width=random.uniform(8, 20),
            strip_height=random.uniform(6, 15),
        ),
        legs=Legs(fitted=random.random() < 0.7, stock="legs", width=random.uniform(40, 80)),
        # Thin wood is drawn as well: these tables are sound in how they fit.
        limits=Limits(
            min_clearance=least,
            fit_allowance=random.choice([0.1, 0.2, random.uniform(0, 0.5)]),
            load=0.0 if windows == "open" else Limits.load,  # what bends cannot be reckoned with boxes
            least_wood=0.5,
            least_wood_routed=0.5,
        ),
        stock=tuple(stocks.values()),
    )


def _stock(random: Random, use: str) -> Stock:
    """A sheet as thick as a sanded one may be (EN 315:2000, from memory), perhaps sanded and finished once more."""
    nominal = random.choice([9.0, 12.0, 15.0] if use == "bottom" else [15.0, 18.0, 21.0, 24.0])
    limits = sanded_limits(nominal)
    sanding, finish = random.choice([(0.0, 0.0), (0.2, 0.1)])
    return Stock(
        use,
        nominal,
        random.choice([nominal, random.uniform(limits.low, limits.high)]),
        front_sanding=sanding,
        back_finish=finish,
        density=random.uniform(500, 750),
    )


# -- stow positions
# ----------------------------------------------------------------------------------------------------


def _stow(random: Random, table: Table) -> tuple[Stow, ...]:
    """Places for the leaves: each axis of travel has tiers of its own, in each of which the leaves keep apart."""
    tiers = random.choice(
        [{1: ["upper"], 0: ["lower"]}, {1: ["lower"], 0: ["upper"]}, {1: ["upper", "lower"]}, {1: ["upper"]},
         {0: ["upper", "lower"]}, {0: ["upper"]}, {1: ["lower"]}]
    )  # fmt: skip
    groups = [(axis, tier) for axis, names in tiers.items() for tier in names]
    chosen: dict[tuple[int, str], int] = dict.fromkeys(groups, 0)
    for _ in range(table.leaves.count):
        free = [group for group in groups if _fits(table, group[0], chosen[group] + 1)]
        if not free:
            raise NotSound("no room for so many leaves")
        chosen[random.choice(free)] += 1
    places = [
        place
        for (axis, tier), number in chosen.items()
        for place in _group(random, table, axis, tier, number)
    ]
    random.shuffle(places)
    return tuple(places)


def _across(table: Table, axis: int) -> float:
    """Width that a leaf takes across its travel along `axis`: the shorter side if it fits in lengthwise, mm."""
    length, width = _leaf(table)
    inner = _inner(table)
    return width if length <= inner[axis] + 10 and width + 80 <= inner[1 - axis] else length


def _leaf(table: Table) -> tuple[float, float]:
    inner, leaves = _inner(table), table.leaves
    along = 0 if leaves.direction == "across" else 1
    covered = inner[along] if leaves.cover_length is None else leaves.cover_length
    return inner[1 - along] - 2 * leaves.end_gap, (covered - (leaves.count + 1) * leaves.gap) / leaves.count


def _inner(table: Table) -> tuple[float, float]:
    side = table.stock[0].thickness
    return table.table.length - 2 * side, table.table.width - 2 * side


def _room(table: Table, axis: int) -> tuple[float, float]:
    """Room for lanes between the legs, or what a slot must keep from the side's end, and that between two lanes, mm."""
    rib = table.stock[2].thickness
    wood = max(table.ribs.least_wood_beside_window + table.sides.slot_chamfer, 25.0)
    edge = table.legs.width + rib + 0.1 if table.legs.fitted else wood
    chamfer = max(table.sides.slot_chamfer, table.ribs.window_chamfer)
    return _inner(table)[1 - axis] - 2 * edge, max(rib, 2 * chamfer + 1) + 0.1


def _fits(table: Table, axis: int, number: int) -> bool:
    room, between = _room(table, axis)
    lane = _across(table, axis) + 2 * table.stowing.side_clearance
    return number * (lane + between) - between <= room


def _group(random: Random, table: Table, axis: int, tier: str, number: int) -> list[Stow]:
    """Places on one tier, side by side with the room that is left spread between them at random."""
    room, between = _room(table, axis)
    across, beside = _across(table, axis), table.stowing.side_clearance
    lane = across + 2 * beside + between
    shares = sorted(random.uniform(0, room + between - number * lane) for _ in range(number))
    sides = ("front", "back") if axis == 1 else ("left", "right")
    places = []
    for index, share in enumerate(shares):
        offset = -room / 2 + share + index * lane + beside + across / 2
        own = random.choice([None, beside - random.uniform(0, beside - table.limits.min_clearance - ROOM)])
        places.append(Stow(random.choice(sides), offset, tier, side_clearance=own))
    return places
