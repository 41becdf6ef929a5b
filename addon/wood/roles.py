"""What parts are for: one record for each kind, asked by all that treats parts differently.

Nothing else keeps a list of kinds. A word that nobody has heard of is a role too: `role_of` gives it what suits any
board, so that a part of a new kind goes everywhere and says what it is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from typing import Final, Literal

from ..sizes.words import plural

Pose = Literal["upside-down", "upright"]
"""How what is built stands at a step of assembly."""

Tone = Literal["birch", "pale", "honey", "shaded", "brown", "steel"]
"""What it is shown as: one of several shades of wood, or metal."""

Keeps = Literal["middle", "lower face", "outer face"]
"""What keeps its place when the board comes out thicker; the outer face is the one without grooves."""

Height = Literal["datum", "groove", "edge", "line"]
"""What says how high a part is: it is what heights count from, a groove in it holds that, an edge of it lies on that,
or it is set to a line."""


Bounds = Literal["around", "beside"]
"""Where a part that bounds the cover leaves is: around all of them, or beside them, in what others stand around."""


@dataclass(frozen=True)
class Role:
    """One kind of part. Two records with the same word are the same role.

    Parameters
    ----------
    word : its word in JSON
    prefix : of its labels: one letter for what there is much of, else a word cut short that pencil keeps
    one, many : its name in words
    collection : where Blender has its parts
    stage : when it usually goes in: rises from first to last (common practice, no source)
    pose : how what is built stands meanwhile
    verb : of the step in which it goes in
    between_first : whether those that stand between others of their kind go in before these
    keeps : its face, or the middle of its thickness, that keeps its place when the board comes out thicker
    height : what says how high it is
    slides : whether it slides home through a slot; its way is judged, not where it stands
    rests : whether it lies loose on what is below it
    carries_cover : whether the ends of cover leaves lie on it
    stands_on_floor : whether it reaches the room's floor
    hides_inside : whether it stands before the inside of the body, so that pictures of that leave it out
    bounds_cover : whether it stands around the cover leaves, or lies beside them in the same opening
    """

    word: str
    prefix: str = field(compare=False)
    one: str = field(compare=False)
    many: str = field(compare=False)
    collection: str = field(compare=False)
    tone: Tone = field(default="birch", compare=False)
    stage: int = field(default=105, compare=False)
    pose: Pose = field(default="upright", compare=False)
    verb: str = field(default="put in", compare=False)
    between_first: bool = field(default=False, compare=False)
    keeps: Keeps = field(default="middle", compare=False)
    height: Height = field(default="line", compare=False)
    slides: bool = field(default=False, compare=False)
    rests: bool = field(default=False, compare=False)
    carries_cover: bool = field(default=False, compare=False)
    stands_on_floor: bool = field(default=False, compare=False)
    hides_inside: bool = field(default=False, compare=False)
    bounds_cover: Bounds | None = field(default=None, compare=False)


SIDE: Final = Role(
    "side", "S", "side", "sides", "Sides", stage=30, pose="upside-down", verb="put on", between_first=True,
    keeps="outer face", height="groove", bounds_cover="around",
)  # fmt: skip
BOTTOM: Final = Role(
    "bottom", "B", "bottom panel", "bottom panels", "Bottom", "pale", 10, "upside-down",
    keeps="lower face", height="datum", hides_inside=True,
)  # fmt: skip
RIB: Final = Role("rib", "R", "rib", "ribs", "Ribs", "pale", 20, "upside-down", height="edge")
LEAF: Final = Role(
    "leaf",
    "L",
    "leaf",
    "leaves",
    "Leaves",
    "honey",
    110,
    verb="slide in",
    slides=True,
    rests=True,
)
END_STOP: Final = Role("end_stop", "STOP", "end stop", "end stops", "End Stops", "brown", 70, "upside-down")
LEG: Final = Role(
    "leg", "LEG", "leg", "legs", "Legs", "shaded", 80, "upside-down", "set in",
    stands_on_floor=True, hides_inside=True,
)  # fmt: skip
FOOT: Final = Role(
    "foot", "FOOT", "foot block", "foot blocks", "Foot Blocks", "brown", 82, "upside-down", "glue in",
    stands_on_floor=True, hides_inside=True,
)  # fmt: skip
LEDGER: Final = Role(
    "ledger", "LEDG", "ledger strip", "ledger strips", "Ledgers", "shaded", 90, carries_cover=True
)
TOP: Final = Role(
    "top",
    "TOP",
    "fixed top",
    "fixed tops",
    "Top Boards",
    "honey",
    100,
    hides_inside=True,
    bounds_cover="beside",
)
RUNNER: Final = Role("runner", "RUN", "runner", "runners", "Runners", "brown", 60, "upside-down")
KICKER: Final = Role("kicker", "KICK", "kicker", "kickers", "Kickers", "brown", 40, "upside-down")
GUIDE: Final = Role("guide", "GUIDE", "guide", "guides", "Guides", "brown", 50, "upside-down")
BLOCK: Final = Role(
    "block", "BLK", "corner block", "corner blocks", "Corner Blocks", "brown", 35, "upside-down"
)
SUPPORT: Final = Role(
    "support", "SUP", "center support", "center supports", "Center Supports", "honey", 105, rests=True
)

ROLES: Final = {
    role.word: role
    for role in (
        SIDE,
        BOTTOM,
        RIB,
        LEAF,
        END_STOP,
        LEG,
        FOOT,
        LEDGER,
        TOP,
        RUNNER,
        KICKER,
        GUIDE,
        BLOCK,
        SUPPORT,
    )
}
"""The roles that the project knows, by their word."""

SCREW: Final = Role("screw", "SCR", "screw", "screws", "Fasteners", "steel")
BRAD: Final = Role("brad", "BRAD", "brad", "brads", "Fasteners", "steel")
POCKET_SCREW: Final = Role("pocket_screw", "PSCR", "pocket screw", "pocket screws", "Fasteners", "steel")
BOLT: Final = Role("bolt", "BOLT", "bolt", "bolts", "Fasteners", "steel")
LEVELING_FOOT: Final = Role("leveling_foot", "LVL", "leveling foot", "leveling feet", "Fasteners", "steel")

FASTENERS: Final = (SCREW, BRAD, POCKET_SCREW, BOLT, LEVELING_FOOT)
"""What holds parts together, and is none."""


@cache
def role_of(word: str) -> Role:
    """The role that a word names; for one that nobody has heard of, what suits any board.

    It goes in upright before what slides home, is put in, is set to a line by its middle, and is called by its word.
    """
    if word in ROLES:
        return ROLES[word]
    name = word.replace("_", " ")
    many = plural(name)
    return Role(word, _prefix(name), name, many, many.title())


def _prefix(name: str) -> str:
    """First letters of several words, else a word cut short; never one of those that are taken."""
    taken = {role.prefix for role in (*ROLES.values(), *FASTENERS)}
    words = ["".join(filter(str.isalpha, word)).upper() for word in name.split()]
    initials, letters = "".join(word[:1] for word in words), "".join(words)
    choices = [initials] if len(initials) > 1 else []
    choices += [letters[:4], letters[:3], letters]
    return next((one for one in choices if one and one not in taken), f"{letters}X")


def named(roles: Iterable[Role]) -> list[str]:
    """What parts of these roles are called, each once: ``bottom panel``, ``legs``."""
    count = Counter(roles)
    return [role.one if number == 1 else role.many for role, number in count.items()]
