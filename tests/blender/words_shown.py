"""All words that the extension shows, gathered from what is registered, from the sources and from tables."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import bpy

import addon
from addon.check.answer import Answer, AsDrawn, ByHand, Works
from addon.check.tolerance.statistics import share
from addon.designs.findings import RULE_WORDS, Remedy
from addon.designs.table.adapting import refusal
from addon.designs.table.design import check
from addon.designs.table.figures import figures_of
from addon.designs.table.nearest import refusal_of
from addon.designs.words import answer as answer_words
from addon.designs.words import slide as slide_words
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.reports import slide as slide_report
from addon.reports import tolerance as tolerance_report
from addon.scene import built, presets, translation
from addon.scene.pictures import rendering
from addon.sizes.errors import ParameterError
from addon.wood import dimensions
from addon.wood.dimensions import names_of
from tests.blender import faults_said
from tests.test_findings import FAULTS, set_values
from tests.test_findings import QUILTING as FAULTY

ROOT = Path(addon.__file__).parent
_KINDS = ("Panel", "Menu", "Operator", "PropertyGroup", "AddonPreferences")
_NO_WORDS = re.compile(
    r"[a-z0-9_.\-*]+|[A-Z0-9_]+|.|[^A-Za-z]*|(?:DRY_ASSEMBLY|VIEW3D|OUTLINER|UI_UL).*|(?:bpy\.|//|dry_assembly\.).*"
    r"|.*\\[wd]\+?.*|.*\.(?:toml|md)"
)
"""Names of properties, icons, operators and files; patterns."""


def own_kinds() -> Iterator[tuple[str, Any]]:
    """What the extension registers: name of Blender's class, class."""
    for name in _KINDS:
        for kind in getattr(bpy.types, name).__subclasses__():
            if kind.__module__.startswith("addon.") and kind.is_registered:
                yield name, kind


def own_properties(kind: Any) -> Iterator[Any]:
    """The properties of a class that have a name, so that somebody sees them."""
    for item in translation.properties_of(kind):
        if item.name != item.identifier or item.type == "ENUM":
            yield item


def registered() -> tuple[set[str], set[str]]:
    """Labels and tooltips of all that is registered."""
    labels: set[str] = set()
    tooltips: set[str] = set()
    for name, kind in own_kinds():
        if name in ("Panel", "Menu", "Operator"):
            labels.add(kind.bl_label)
        if name == "Operator":
            tooltips.add(getattr(kind, "bl_description", ""))
        if name in ("Panel", "Menu"):
            continue
        for item in own_properties(kind):
            if item.name != item.identifier:
                labels.add(item.name)
                tooltips.add(item.description)
            for choice in getattr(item, "enum_items_static", ()):
                labels.add(choice.name)
                tooltips.add(choice.description)
    return {one for one in labels if _has_words(one)}, {one for one in tooltips if _has_words(one)}


def _has_words(text: str) -> bool:
    return re.search(r"[A-Za-z]{2}", text) is not None


def in_sources() -> set[str]:
    """Texts in the modules of the user interface that are words for people."""
    found: set[str] = set()
    for path in ROOT.joinpath("ui").glob("*.py"):
        found |= {one for one in _texts(path) if not _NO_WORDS.fullmatch(one)}
    for kind in rendering.KINDS.values():
        found |= {kind.label, kind.meaning}
    for one in (*presets.BUILTIN.values(), *EXAMPLES.values()):
        found |= {one.label, one.intro.rstrip("."), f"Add {one.label}"}
    return found | set(RULE_WORDS.values())


def _texts(path: Path) -> Iterator[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        for line in body if isinstance(body, list) else ():
            if isinstance(line, ast.Expr):
                skipped.add(id(line.value))
        if isinstance(node, ast.JoinedStr):
            skipped.update(id(one) for one in node.values)
        if isinstance(node, ast.AnnAssign):
            skipped.update(id(one) for one in ast.walk(node.annotation))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            yield node.value


_NOT_SHOWN = {
    "key", "text", "path", "family", "changes", "rule", "verdict", "grade", "slide", "error", "message", "remedies",
    "held",
}  # fmt: skip
"""Texts that are kept with a table and never shown as they are."""


def said_of(state: Any) -> Iterator[str]:
    """All sentences that are kept with a table, line by line; its own name left out."""
    for path, text in _kept(state, ""):
        if path != ".name":
            yield from (line for line in text.splitlines() if _has_words(line))


def _kept(group: Any, path: str) -> Iterator[tuple[str, str]]:
    for item in group.bl_rna.properties:
        name, here = item.identifier, f"{path}.{item.identifier}"
        if name in ("rna_type", "parameters", "root"):
            continue
        if item.type == "STRING" and name not in _NOT_SHOWN:
            yield here, getattr(group, name)
        elif item.type == "COLLECTION" and name not in _NOT_SHOWN:
            for one in getattr(group, name):
                yield from _kept(one, here)
        elif item.type == "POINTER" and getattr(group, name) is not None:
            yield from _kept(getattr(group, name), here)


def advice_of(state: Any) -> list[str]:
    """What its findings say, and what helps."""
    found: list[str] = []
    for one in state.findings:
        found.append(one.message)
        for remedy in one.remedies:
            found += [remedy.name, remedy.after]
    return found


CHANNELS: tuple[dict[str, Any], ...] = tuple(
    {"legs.kind": "laminated", "legs.channel": channel} for channel in (17.7, 18.6)
)
"""Too narrow for the sides where their sheet is thickest, and too wide for glue."""

DOORS: tuple[dict[str, Any], ...] = (
    {"legs.kind": "corner", "limits.door_width": 700.0},
    {"legs.kind": "bolted", "limits.door_width": 200.0, "limits.door_height": 900.0},
)
"""Too narrow with legs on, and with legs off."""


@cache
def advice_on_faults() -> frozenset[str]:
    """What the findings of tables with one fault each say, of every rule, and what is worth trying against them."""
    found = set()
    for changes in (*(changes for *_, changes in FAULTS), *CHANNELS, *DOORS, *faults_said.FAULTS):
        for one in check(set_values(FAULTY, changes)).findings:
            tried = [remedy.text for remedy in (*one.remedies, *one.candidates) if isinstance(remedy, Remedy)]
            found.update((one.message, *tried))
    return frozenset({*found, *faults_said.SELDOM})


def dimensions_of(assembly: Any) -> set[str]:
    """Names of parts and of their dimensions."""
    found = {part.name for part in assembly.parts}
    return found.union(*(names_of(part).values() for part in assembly.parts))


_DRAWN: tuple[tuple[Any, float | None], ...] = (
    ("clear", 1.5), ("tight", 0.5), ("blocked", -2.0), ("blocked", None), ("clear", None),
)  # fmt: skip


def answers() -> Iterator[str]:
    """Everything that the three lines can say, by hand: each verdict, with and without clearance, shares and limits."""
    for verdict, clearance in _DRAWN:
        for line in (
            answer_words.as_drawn(AsDrawn(verdict, clearance), "mm"),
            answer_words.three_lines(
                Answer(AsDrawn(verdict, clearance), ByHand("guides-itself", None)),
                "mm",
                0.9,
                table_blocked=True,
            )[0],
        ):
            yield from (line.words, line.short, answer_words.with_accepted(line, 2).words)
    for count in (0, 1, 137, 200):
        found = share(count, 200)
        for worst in (None, 0.7, -0.7):
            for so_far in (False, True):
                line = answer_words.in_shop(Works(found, worst), "mm", 0.9, so_far)
                yield from (line.words, line.short)
        for verdict in ("guides-itself", "needs-steering", "does-not-pass"):
            for steer in (None, 0.0, 1.4):
                line = answer_words.by_hand(ByHand(verdict, steer, found), "mm", 0.9)
                yield from (line.words, line.short)
    for so_far in (False, True):
        yield answer_words.in_shop(None, "mm", 0.9, so_far).words
    for remedy in (Remedy("", (), 0.998, ""), Remedy("", (), 1.0, "")):
        yield answer_words.after_words(remedy)
    yield from answer_words.NAMES
    yield from slide_words.VERDICT_WORDS.values()


_SELDOM = (
    "Lay the leaves down dry and plane an edge of the last one to fit",
    "Cut L1 from a flatter sheet, or from a flatter part of this one",
    "L1 is not flat: its bow 5.36 mm in its openings is more than the 3.0 mm of room there; it rubs above and below.",
    "Apply 2", "Findings: 3", "Saved /tmp/a.pdf", "Saved 3 files in /tmp", "Correct Wide first: it cannot be built",
    "100 mm as drawn", "3 of 4", "then 99 % of tables work; costs 12 mm", "nowhere", "above", "tolerances", "plan",
    "side", "Passage of L1",
    "pressed toward S1, the windows of R3 and R4 end up 4.0 mm off, L1 is stopped at 50 mm of its travel by R3, 2.0 mm "
    "in its way and L2 is stopped at 60 mm of its travel by R4, 2.0 mm in its way",
    "the windows of R3 end up 4.0 mm off (of 1 other less)",
    "Leave the kickers out", "Plane 2 mm off an edge of B1",
    "S1 keeps 3.7 mm of wood between the groove and the start: less than 6 mm breaks out",
    # what does not stand as it was made
    "1 part moved: R3", "2 parts turned: R3, R4", "2 parts scaled: R3, R4", "1 part edited: R3", "1 part gone: R3",
    "1 part scaled: the whole table", "2 more than drawn: R3, R4",
    "This table is linked from shop.blend: make it local to change it.",
    "This table is an override of a linked one: make it local to change it.",
    # leaves on their way
    "has no stow position", "L1 needs steering at R3, 1 mm short of the opening",
    "L1 needs steering at R3, nothing holds it before", "L1 does not pass R3, lacks 1 mm", "not reached",
    "held by nothing", "Nothing holds the leaf before it: lead the nose in by hand.", "each by itself",
    "may jam stowed", "L1 and R3 share 12 mm", "L1, R3 stay together: straight moves do not take them apart.",
    "On the way parts run into each other: L1 and R3.",
    "Off its place as drawn the nose can be 1 mm low to 2 mm high; the opening catches anywhere.",
    "It wedges nowhere. How, opening by opening, stands in the report on sliding in.",
    "L1 in the position of L2 through S1, as drawn: passes S1 (start edge of the notch of L1) with 1 mm at 2 mm of its"
    " travel, nothing stops it stowed.",
    "L1 in the position of L2 through S1, as drawn: comes to rest with its outer end 3 mm out of S1.",
    "L1 in the position of L2 through S1, as drawn: slides 3 mm past its position until R3.",
    "L1 in the position of L2 through S1, as drawn: passes clear, 1 mm from S1 (end edge of the slot of L2) at its"
    " tightest.",
    "L1 in the position of L2 through S1, as drawn: passes clear, 1 mm from S1 (bottom of the groove) at its tightest.",
    "L1 does not pass, however it is tilted: it lacks 1 mm between the upper edge of R3 (land start, at 2 mm),"
    " the underside of KICK2 (land start, at 2 mm), the upper side of RUN1 (land start, at 2 mm), the left edge of R3"
    " (land start, at 2 mm), the right edge of R4 (land start, at 2 mm), the face of GUIDE1 (land start, at 2 mm).",
    "L1: press it flat onto the sill of S1 and keep it along the left edge of its slot until its nose is past R11"
    " (outer end within 15 mm of its line); L2: hold it flat up against the head of S2 and keep it straight until its"
    " nose is past R11; L3: keep it level and keep it along the right edge of its slot until its nose is past R3; L4:"
    " lead its nose in with a hand until its nose is past R3. No chamfer that the boards hold, nor a strip that has"
    " room, makes up for it.",
    "Plane 6 mm off one long edge of L1", "Mark L1, its slot and its outer end, and stow it there",
    "L1 does not fit the slot of L2 any way round, the slots of L2 and L3 any way round, its own slot otherwise than as"
    " drawn: R3 (corner of the window of L1) stands up to 1.5 mm in its way.",
    "L1 does not fit the slot of L2 otherwise than as drawn, its own slot any way round: R3 (corner of the window of"
    " L1) stands up to 1.5 mm in its way.",
    # friction, weight, tolerances
    "Push it at most 3 mm off its middle, or it may jam (friction 0.4).", "Nothing carries it on its way.",
    "Before anything holds it, 1 mm to 2 mm: push anywhere.", "Its free nose meets no opening on its way.",
    "1 mm too little", "L1 side", "L1 above", "free", "L1 no thickness stops it.",
    "It may wedge from 1 mm to 2 mm and from 3 mm to 4 mm, guided over no more than 5 mm: keep it straight.",
    "1. 0.2 mm (20 %): RUN2: level, ±0.5 mm", "0.2 mm (20 %): R3, window for L4: sill height, ±0.3 mm",
    "0.2 mm (20 %): 18 mm birch: mean thickness of the sheet of R3, ±0.3 mm",
    "Router: for 95 % of the tables it has to hold ±0.1 mm in size, ±0.2 mm in position, ±0.3 mm at the groove or more:"
    " 8 times what is given.",
    "Router: however well it works, fewer than 95 % of the tables let all leaves in.",
    # findings and what helps
    "Of tables cut at these tolerances 80 % work; 95 % shall: L1 in 90 %, L2 in 85 %. At worst 0.3 mm are lacking.",
    "Of tables cut at these tolerances 80 % guide their leaves; 95 % shall: L1 in 90 %.",
    "Of tables cut at these tolerances 80 % work; 95 % shall.",
    "Of tables cut at these tolerances 80 % guide their leaves; 95 % shall.",
    "L1 is touching R3 (cover leaf) from 3 mm of its travel.", "L1 passes R3 (hole) with 0.3 mm at 4 mm of its travel.",
    "L1 may jam when it is pushed more than 82 mm off its middle, even stowed (friction 0.4).",
    "The free nose of L1 bends down by 2 mm before R3 and comes 1 mm too low for it.",
    "S1 (front side) and B1 (bottom panel) overlap by 0.8 mm. Also: S2 and B1.",
    "L1 does not fit the slot of L2 otherwise than as drawn, the slots of L3 and L4 otherwise than as drawn, its own"
    " slot any way round: R3 (hole) stands up to 1 mm in its way.",
    "L1 does not pass, however it is tilted: it lacks 1 mm between the lower edge of S1 (land end, at 3 mm).",
    "R3 is 3 mm too short at S2; the joint stays open; with the gaps spread evenly, no leaf is stopped.",
    "S1 is 1 mm thicker than drawn, S2 is 1 mm thinner than drawn; put together, R3 is pushed 3 mm aside.",
    "Glued by its upper edge, R3 has its windows 3 mm lower than drawn; the lower edge of R3 stands 3 mm past that of"
    " S1.",
    "Glued by its upper edge, R3 has its windows 3 mm higher than drawn.",
    "Trim 3 mm off the upper edge of R3", "Trim 3 mm off the lower edge of R3", "Plane 3 mm off the upper edge of R3",
    "Plane 3 mm off the lower edge of R3", "Take 2 mm of wood off R3 where L1 passes it",
    "Take 2 mm of wood off at one of these edges", "Chamfer the leaves' leading ends by 3 mm", "Push it at its middle",
    "Lift its nose with a hand before R3", "Cut a new B1 from a sheet 11.8 mm thick, if B1 is not glued yet",
    "Cut a new R3, or pack the gap between R3 and S2 with 3 mm",
    # parts that the tables of the tests have none of
    "center support", "corner block of R5", "kicker of L1", "guide of L1", "runner of L1", "fixed top, front",
    "fixed top, back", "ledger strip, left", "ledger strip, right", "place of the groove along the board",
    "notch for L1: width", "notch: width", "slot: width", "window: width", "taper of edge 5: length",
)  # fmt: skip
"""Sentences that no table of the tests says, written by hand."""


def sentences() -> Iterator[str]:
    """What is said seldom, and what does not depend on a table."""
    yield from _SELDOM
    yield from (slide_report.CAUTION, tolerance_report.CAUTION)
    yield from (one.words for one in dimensions._SAMPLES.dimensions)
    table = parse_table(EXAMPLES["quilting"].text())
    yield from (one.name for one in figures_of(table, built.assembly_of(table)))


_REFUSED: tuple[tuple[str, str, Any], ...] = (
    ("quilting", "table.length", 450.0), ("quilting", "table.length", 2250.0), ("seed-bench", "table.length", 457.2),
    ("quilting", "sides.slot_chamfer", 9.0), ("quilting", "sides.wood_below_slots", 6.6),
    ("quilting", "bottom.groove_depth", 18.0), ("quilting", "bottom.groove_run_on", 30.0),
    ("quilting", "well.ledger_height", 45.0), ("quilting", "leaves.count", 1), ("quilting", "leaves.count", 2),
    ("quilting", "leaves.count", 5), ("quilting", "leaves.edge_radius", 9.0), ("quilting", "leaves.finger_hole", 75.0),
    ("quilting", "leaves.finger_hole_inset", 10.5), ("quilting", "leaves.tray_depth", 20.0),
    ("quilting", "leaves.pull_length", 1.0), ("quilting", "leaves.pull_length", 20.0),
    ("quilting", "leaves.pull_length", 500.0), ("quilting", "stowing.side_clearance", 20.0),
    ("quilting", "stowing.set_back", 57.6), ("quilting", "legs.width", 36.0), ("quilting", "limits.least_wood", 18.0),
)  # fmt: skip
"""Example, key and value of sizes that cannot be built."""


@cache
def refusals() -> frozenset[str]:
    """What is said of sizes that cannot be built, with what can be."""
    found = set()
    for name, key, value in _REFUSED:
        good = EXAMPLES[name].table()
        changed = set_values(good, {key: value})
        error = refusal_of(changed)
        assert isinstance(error, ParameterError), key
        found.add(str(refusal(changed, error, good)))
    return frozenset(found)


def unsaid(language: translation.Language, texts: Any) -> set[str]:
    """Those that a language cannot say as a whole."""
    return {one for one in texts if one and language.said(one) is None}
