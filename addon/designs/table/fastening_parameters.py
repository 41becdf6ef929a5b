"""Parameters of what holds the parts together: kind by kind, and single screws of the maker's own."""

from __future__ import annotations

from dataclasses import MISSING, dataclass
from typing import Any, Final

from ...sizes import declare

_WAYS: Final = {
    "glue": "glue alone, clamped",
    "brads": "glue, and brads that hold it until the glue has set",
    "screws": "glue, and screws through the face of one board",
    "pocket screws": "glue, and pocket screws from the board that butts; screws where faces meet",
}


def _way(label: str, help: str, default: str = "glue") -> Any:
    return declare.choice(default, label, help, **_WAYS)


@dataclass(frozen=True)
class Fastening:
    """What holds the parts together. Screws and brads are put where they miss cuts and the leaves' ways."""

    sides: str = _way("Sides", "What holds butted sides at their corners")
    ribs: str = _way("Ribs", "What holds ribs to sides, to each other and to the bottom panel")
    ledgers: str = _way("Ledgers", "What holds the ledger strips")
    strips: str = _way("Runners, Kickers, Guides", "What holds these strips")
    stops: str = _way("End Stops", "What holds end stops")
    legs: str = _way("Legs", "What holds leg boards beside what their kind asks for")
    blocks: str = declare.choice(
        "screws",
        "Corner Blocks",
        "What holds corner blocks",
        glue="glue alone, clamped",
        screws="a screw through the block, and a pocket screw across its end where a pocket has room",
    )
    spacing: float = declare.length(
        200.0,
        "Spacing",
        "From screw to screw along a joint (common practice, no source)",
        low=30,
        high=600,
        inch=8,
    )
    brad_diameter: float = declare.length(
        1.25,
        "Brad Diameter",
        "Measured: wire of the same gauge differs from maker to maker",
        low=0.4,
        high=4,
        inch=0.049,
    )
    pocket_bore: float = declare.length(
        9.5, "Pocket Bore", "Diameter of the stepped drill that bores pockets", low=5, high=20, inch=3 / 8
    )


@dataclass(frozen=True)
class OwnFastener:
    """A screw, brad or bolt of the maker's own. A joint that has any gets none proposed."""

    kind: str = declare.choice(
        MISSING,
        "Kind",
        "What it is",
        **{
            "screw": "a countersunk wood screw",
            "brad": "a brad",
            "pocket screw": "a pocket screw, with its pocket",
            "bolt": "a bolt with a nut on the far face",
            "none": "nothing: leaves out what would be proposed for this joint",
        },
    )
    head: str = declare.text(MISSING, "Head", "Label of the board under its head")
    into: str = declare.text(MISSING, "Into", "Label of the board that its tip goes into")
    along: float | None = declare.length(
        None,
        "Along",
        "Where it is along the joint, from its left, front or lower end; left out, its middle",
        low=-10_000,
    )
    across: float | None = declare.length(
        None,
        "Across",
        "Where it is across the joint, from its left, front or lower edge; left out, its middle",
        low=-1000,
        high=1000,
    )
    length: float | None = declare.length(
        None, "Length", "As it is sold; left out, what the thickness of both boards asks for", low=5, high=300
    )
    diameter: float | None = declare.length(
        None,
        "Diameter",
        "Of its shank; left out, the thickest for which the edges leave room",
        low=0.4,
        high=20,
    )
    head_diameter: float | None = declare.length(
        None, "Head Diameter", "Left out, twice that of the shank", low=0.4, high=40
    )
    face: str | None = declare.choice(
        None,
        "Face",
        "Face that a pocket is bored into; left out, the one where a driver has room",
        front="the front face of the board under the head",
        back="its back face",
    )
