"""Parts of the maker's own: boards as the file describes them, what is cut into them, and what they are joined to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import MISSING, Field, fields, replace
from typing import Any, Final, NamedTuple, get_args

import numpy as np

from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.features import (
    AngledHole,
    Bevel,
    Blank,
    EdgeTreatment,
    Feature,
    Groove,
    Hole,
    Opening,
    Taper,
)
from ...wood.joints import Fastening, meeting_faces
from ...wood.part import Part, Placement, Shape, rectangle
from ...wood.roles import FASTENERS, ROLES, role_of
from .bill import Bill
from .lanes import Layout
from .own_parameters import OwnCut, OwnPart, cut_key, own_key
from .parameters import Table
from .refusals import at_least, at_most, refuse, size

BESIDE: Final = 2.0
"""Parts that are said to be joined are no farther apart, mm: glue fills no more (common practice, no source)."""

_HOLDS: Final = tuple(word for word in get_args(Fastening) if word != "pocket screw")
_EDGES: Final = {"lower": "lower edge", "upper": "upper edge", "start": "start", "end": "end"}
_TAKEN: Final = {*ROLES, *(role.word for role in FASTENERS)}

_KINDS: Final[dict[str, tuple[type[Feature], dict[str, Any]]]] = {
    "opening": (Opening, {"kind": "window"}),
    "notch": (Opening, {"kind": "notch"}),
    "groove": (Groove, {"kind": "groove"}),
    "dado": (Groove, {"kind": "dado"}),
    "rabbet": (Groove, {"kind": "rabbet"}),
    "hole": (Hole, {}),
    "angled_hole": (AngledHole, {}),
    "chamfer": (EdgeTreatment, {"kind": "chamfer"}),
    "round_over": (EdgeTreatment, {"kind": "round-over"}),
    "bevel": (Bevel, {}),
    "taper": (Taper, {}),
}
"""Kind of a cut → its feature, and what of that the kind decides."""

_CALLED: Final[dict[type[Feature], dict[str, str]]] = {
    Opening: {"u0": "start", "u1": "stop", "v0": "lower", "v1": "upper"},
    Groove: {"u0": "start", "u1": "stop", "v0": "lower", "v1": "upper", "along": "runs"},
    Hole: {"u": "along", "v": "across"},
}
"""What the file calls those fields of a feature that have no name of their own there."""

_NOT_IN_FILES: Final = {"leaf", "kind"}


def keys_of(word: str) -> tuple[str, ...]:
    """The keys that a kind of cut has in the file, `part` and `kind` first."""
    return ("part", "kind", *_fields_of(_KINDS[word][0]))


def _fields_of(kind: type[Feature]) -> dict[str, Field[Any]]:
    """Key → the feature's own field of that name, or of the one that `_CALLED` says."""
    called = _CALLED.get(kind, {})
    declared = fields(kind)  # type: ignore[arg-type]
    return {called.get(one.name, one.name): one for one in declared if one.name not in _NOT_IN_FILES}


class Own(NamedTuple):
    """A part of the maker's own, and which entry it is."""

    number: int
    entry: OwnPart
    part: Part


def add_own_parts(layout: Layout, bill: Bill) -> list[Own]:
    """Adds them, before whatever makes way for them; they are joined later, when all parts are there.

    Raises ParameterError for what cannot be built, PartError for cuts that leave their board.
    """
    table, made = layout.table, []
    for index, entry in enumerate(table.own_part):
        stock = layout.stocks[entry.stock]
        word = (entry.role or entry.name).strip().lower().replace(" ", "_")
        if word in _TAKEN:
            use = "another word, such as shelf or hook board"
            key = own_key(index, "role" if entry.role else "name")
            refuse(table, key, entry.role or entry.name, use, "the table makes its own parts of that role")
        shape = Shape(_outline(table, index, entry), stock.thickness)
        placement = _placement(layout, index, entry, shape)
        added = bill.add(role_of(word), entry.name.strip(), stock, shape, placement)
        part = bill.parts[-1] = replace(added, given=True)
        bill.boxes[part.label] = bill.box_of(part)
        made.append(Own(index, entry, part))
    _cut(table, bill, made)
    return made


def labels_of(table: Table) -> dict[str, int]:
    """Label of each part of the maker's own → number of its entry: they are numbered by role in the file's order."""
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    for index, entry in enumerate(table.own_part):
        prefix = role_of((entry.role or entry.name).strip().lower().replace(" ", "_")).prefix
        counts[prefix] = counts.get(prefix, 0) + 1
        found[f"{prefix}{counts[prefix]}"] = index
    return found


# -- the board, and where it stands
# ----------------------------------------------------------------------------------------------------


def _outline(table: Table, index: int, entry: OwnPart) -> tuple[tuple[float, float], ...]:
    """Corners (u, v), counter-clockwise."""
    if entry.corners is None:
        for name in ("length", "width"):
            if getattr(entry, name) is None:
                refuse(table, own_key(index, name), "nothing", "a length", "the board has no corners either")
        return rectangle(float(entry.length or 0.0), float(entry.width or 0.0))
    if len(entry.corners) % 2 or len(entry.corners) < 6:
        use = "two lengths for each of at least three corners"
        refuse(table, own_key(index, "corners"), f"{len(entry.corners)} lengths", use, "an outline is closed")
    found = tuple(zip(entry.corners[::2], entry.corners[1::2], strict=True))
    return found if _area(found) > 0 else tuple(reversed(found))


def _area(outline: Sequence[tuple[float, float]]) -> float:
    """Of a polygon, mm², positive counter-clockwise (shoelace formula, from memory)."""
    u, v = np.array(outline).T
    return float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum() / 2)


def _placement(layout: Layout, index: int, entry: OwnPart, shape: Shape) -> Placement:
    """Turned as the entry says, its box at x, y and z, or against what it names."""
    table = layout.table
    if entry.length_along[1] == entry.width_along[1]:
        use = "a direction across that of the length"
        refuse(table, own_key(index, "width_along"), entry.width_along, use, "length and width cross")
    turned = Placement.along(entry.length_along, entry.width_along, (0.0, 0.0, 0.0))
    blank = shape.blank
    ends = turned.to_table(np.array([[*blank.low, 0.0], [*blank.high, blank.thickness]]))
    low, high = ends.min(axis=0), ends.max(axis=0)
    middle = -(high - low) / 2
    at = np.array([
        middle[0] if entry.x is None else entry.x,
        middle[1] if entry.y is None else entry.y,
        layout.panel_top if entry.z is None else entry.z,
    ])  # fmt: skip
    sizes = high - low
    if entry.against == "under":
        at[2] = layout.panel_bottom - sizes[2]
    elif entry.against is not None:
        side, _, outside = entry.against.partition("_")
        axis, toward = _SIDES[side]
        face = (table.table.length, table.table.width)[axis] / 2 if outside else layout.inner[axis]
        beyond = (toward > 0) == bool(outside)
        at[axis] = toward * face - (0.0 if beyond else sizes[axis])
    return turned.moved(at - low)


_SIDES: Final = {"left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1)}
"""Side → the axis that it stands across, and on which end of that."""


def axis_held(entry: OwnPart) -> int | None:
    """The axis along which a part stands against something, so that no coordinate moves it."""
    if entry.against is None:
        return None
    return 2 if entry.against == "under" else _SIDES[entry.against.partition("_")[0]][0]


# -- what is cut into it
# ----------------------------------------------------------------------------------------------------


def _cut(table: Table, bill: Bill, made: Sequence[Own]) -> None:
    """Gives each part what is cut into it."""
    by_label = {one.part.label: number for number, one in enumerate(made)}
    cuts: dict[int, list[Feature]] = {}
    for index, cut in enumerate(table.own_cut):
        if cut.part not in by_label:
            use = " or ".join(by_label) or "an entry of [[own_part]]"
            refuse(table, cut_key(index, "part"), cut.part, use, "only parts of your own are cut so")
        number = by_label[cut.part]
        found = feature_of(table, index, made[number].part.shape.blank)
        cuts.setdefault(number, []).append(found)
    for number, features in cuts.items():
        part = made[number].part
        whole = replace(part, shape=replace(part.shape, features=tuple(features)))
        bill.parts[bill.parts.index(part)] = whole
        made[number] = made[number]._replace(part=whole)  # type: ignore[index]


def feature_of(table: Table, index: int, blank: Blank) -> Feature:
    """What an entry cuts into a board. Each key is the feature's own field of that name, or what `_CALLED` says.

    Raises ParameterError where one that it needs is missing, or one is given that it has not.
    """
    cut: OwnCut = table.own_cut[index]
    kind, fixed = _KINDS[cut.kind]
    known = _fields_of(kind)
    for one in fields(cut):
        value = getattr(cut, one.name)
        if one.name not in known and one.name not in ("part", "kind") and value not in (None, False):
            use = "none of it"
            reason = f"of a {cut.kind} there are {', '.join(known)} alone"
            refuse(table, cut_key(index, one.name), value, use, reason)
    values = {one.name: _value(table, index, key, one, blank) for key, one in known.items()}
    given = {name: value for name, value in values.items() if value is not None}
    _check_place(table, index, kind, given, blank)
    return kind(**given, **fixed)


def _value(table: Table, index: int, key: str, field: Field[Any], blank: Blank) -> Any:
    """Of a field; None where its default is to do."""
    value = getattr(table.own_cut[index], key)
    if key == "face":
        return value or "front"
    if key == "runs":
        return {"length": "u", "width": "v"}.get(value)
    if value is None and field.default is MISSING:
        word = table.own_cut[index].kind
        refuse(table, cut_key(index, key), "nothing", "a value", f"a {word} needs one")
    if key == "edge":
        return _edge(table, index, str(value), blank)
    if value is not None and key in ("start", "stop", "along") and field.name in ("u", "u0", "u1"):
        return value + blank.low[0]
    if value is not None and key in ("lower", "upper", "across"):
        return value + blank.low[1]
    return value


def _edge(table: Table, index: int, word: str, blank: Blank) -> int:
    """Which edge of the outline a word means."""
    names = [blank.edge_words(number) for number in range(len(blank.outline))]
    wanted = _EDGES.get(word, word)
    if wanted in names:
        return names.index(wanted)
    if re.fullmatch(r"\d{1,4}", word, re.ASCII) and int(word) < len(names):
        return int(word)
    known = [key for key, name in _EDGES.items() if name in names]
    use = " or ".join([*known, f"0 to {len(names) - 1}"])
    return refuse(table, cut_key(index, "edge"), word, use, "the board has no such edge")


def _check_place(table: Table, index: int, kind: type[Feature], given: dict[str, Any], blank: Blank) -> None:
    """Refuse a cut that misses its board, or leaves it where it may not."""
    called = _CALLED.get(kind, {})
    for axis, pairs in ((0, (("u0", "u1"), ("u", "u"))), (1, (("v0", "v1"), ("v", "v")))):
        for first, last in pairs:
            if first not in given or last not in given:
                continue
            low, high = given[first], given[last]
            if low > high - CONTACT and first != last:
                least = at_least(table, low - blank.low[axis] + 1.0)
                key = cut_key(index, called[last])
                refuse(table, key, high - blank.low[axis], least, "it ends behind its beginning")
            if low > blank.high[axis] - CONTACT:
                key = cut_key(index, called[first])
                refuse(
                    table,
                    key,
                    low - blank.low[axis],
                    at_most(table, blank.high[axis] - blank.low[axis]),
                    "there the board ends",
                )
            if high < blank.low[axis] + CONTACT:
                key = cut_key(index, called[last])
                refuse(table, key, high - blank.low[axis], at_least(table, 0.0), "the board begins there")


# -- joints
# ----------------------------------------------------------------------------------------------------


def join_own_parts(table: Table, bill: Bill, made: Sequence[Own]) -> None:
    """Joins each to what its entry names. Raises ParameterError where nothing of that is beside it."""
    labels = [part.label for part in bill.parts]
    for index, entry, part in made:
        if entry.joined_to is None:
            continue
        for word in entry.joined_to.split(","):
            label, _, held = word.strip().partition(" ")
            key = own_key(index, "joined_to")
            if label not in labels or label == part.label:
                known = ", ".join(one for one in labels if one != part.label)
                refuse(table, key, entry.joined_to, known, f"no other part is called '{label}'")
            fastening = held.strip() or "glue"
            if fastening not in _HOLDS:
                use = " or ".join(_HOLDS)
                refuse(table, key, entry.joined_to, use, f"'{fastening}' holds no joint")
            _join(table, bill, index, part, bill.part(label), fastening)  # type: ignore[arg-type]


def _join(table: Table, bill: Bill, index: int, part: Part, other: Part, fastening: Fastening) -> None:
    faces, apart = meeting_faces(part, other), _apart(part, other)
    if faces is None or apart > BESIDE:
        use = "a part that it touches, or another place"
        far = "" if apart <= BESIDE else f": it is {size(table, apart)} away"
        reason = f"nothing of {other.label} ({other.name}) is beside {part.label}{far}"
        refuse(table, own_key(index, "joined_to"), other.label, use, reason)
    broad = {"front", "back"}
    kind = "face" if set(faces) <= broad else "butt"
    if apart < -CONTACT and (other.shape.grooves or part.shape.grooves):
        kind = "groove"
    end = faces[0] if faces[0] in ("start", "end") and kind == "butt" else None
    bill.join(part, other, kind, end, max(apart, 0.0), fastening)  # type: ignore[arg-type]


def _apart(one: Part, other: Part) -> float:
    """Distance between two boxes along the axis on which they are farthest apart, mm; negative where they overlap."""
    (low, high), (low1, high1) = one.box, other.box
    apart = float(np.maximum(low1 - high, low - high1).max())
    return 0.0 if abs(apart) <= ANGLE else apart
