"""The table as its papers have it: every size rounded to the rule so that what fits still fits.

Leaves, the bottom panel and strips are no larger than drawn, openings no smaller (`Feature.rounded` says how each kind
of cut is rounded); the sides' and ribs' own sizes are rounded to the nearest division. What stands in a row moves with
its neighbors, and what fits between others is cut to fit (`fitting`). Sizes that the wood or a bit decides, and those
that were measured, are not rounded.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.as_cut import apply_as_cut, cut_by
from ..wood.assembly import Assembly
from ..wood.dimensions import PLACE, AsCut, chosen, name_of
from ..wood.features import Dimension, Rounder
from ..wood.part import GluedStrip, Part, Shape
from ..wood.same import Alike, alike_parts
from ..wood.sound import check_parts
from .figures import Figure, Rule, Sizes
from .fitting import fit_together
from .standing import Fitting, resized

How = Literal["rule", "wood", "bit", "gap"]
"""A size is rounded to the rule, set from the wood itself (a groove to its board), cut by a bit of that size, or cut
to fit a gap."""

Key = tuple[str, int | None, str]
"""Label of the part, number of the feature or None, name of the dimension."""


@dataclass(frozen=True)
class Printed:
    """How one dimension of one part is printed.

    Parameters
    ----------
    value : mm or degrees
    text : without the unit
    """

    value: float
    text: str
    how: How = "rule"


@dataclass(frozen=True, eq=False)
class Rounded:
    """An assembly whose sizes are those that are printed.

    Parameters
    ----------
    drawn : as the file has it
    assembly : with every dimension as printed, seated
    sizes : (label, number of the feature or None, name of the dimension) → how it is printed
    gaps : label of a part that is cut to fit → labels of the parts between which its length is measured
    entries : what makes the one of the other, as a table file has it: sizes, and how far parts stand elsewhere
    """

    drawn: Assembly
    assembly: Assembly
    sizes: dict[Key, Printed]
    gaps: dict[str, tuple[str, ...]]
    rule: Rule
    entries: tuple[AsCut, ...] = ()

    def figure(self, part: Part, dimension: Dimension, name: str = "") -> Figure:
        """What is printed for a dimension of a part, as drawn."""
        key = _key(part, dimension)
        one = self.sizes[key]
        return Figure(
            name or dimension.words,
            one.value,
            one.text,
            part.label,
            dimension.of,
            self._names[key],
            dimension.leaf,
            dimension.unit,
        )

    @cached_property
    def _names(self) -> dict[Key, str]:
        """The name by which ``[[as_cut]]`` chooses a dimension among several of that name."""
        return {
            _key(part, one): name_of(part, one) for part in self.drawn.parts for one in part.shape.dimensions
        }

    @cached_property
    def kinds(self) -> tuple[Alike, ...]:
        """Parts that are alike when turned and are printed with the same length and width."""
        return tuple(alike_as_printed(self))


def rounded_table(assembly: Assembly, rule: Rule) -> Rounded:
    """Every dimension of an assembly as it is printed, and the assembly with those. Raises AsCutError and PartError."""
    measured = _measured(assembly)
    kinds = alike_parts(assembly)
    parts = {part.label: _sized(part, rule, measured) for part in assembly.parts}
    fitting = Fitting(assembly, rule, parts, frozenset(_fixed(assembly, measured)))
    _round_features(fitting, kinds, measured)
    fit_together(fitting)
    _round_features(fitting, kinds, measured)
    fitting.settle()
    entries = (*_size_entries(fitting, measured), *_place_entries(fitting))
    cut = assembly
    if entries:
        cut = replace(apply_as_cut(assembly, entries), as_cut=assembly.as_cut)
        cut = replace(
            cut, parts=tuple(_with_strips(part, assembly.by_label[part.label]) for part in cut.parts)
        )
        check_parts(cut.parts)
    gaps = {
        label: (one.low, one.high)
        for label, one in fitting.fitted.items()
        if not rule.shows(_length(cut.by_label[label]))
    }
    return Rounded(assembly, cut, dict(_sizes(cut, assembly, rule, gaps, measured)), gaps, rule, entries)


def _key(part: Part, dimension: Dimension) -> Key:
    return part.label, dimension.number, dimension.name


def _length(part: Part) -> float:
    return part.shape.size[0]


def _measured(assembly: Assembly) -> dict[Key, float]:
    """The dimensions that were measured, with what they measure."""
    found = {}
    for entry in assembly.as_cut:
        part = assembly.by_label.get(entry.part)
        if part is not None and not entry.missing and entry.dimension not in PLACE:
            for one in chosen(part, entry.dimension, entry.leaf):
                found[_key(part, one)] = one.value
    return found


def _fixed(assembly: Assembly, measured: Iterable[Key]) -> Iterator[tuple[str, int]]:
    """Parts whose length or width was measured, with the axis of the table along which that lies."""
    for label, _, name in measured:
        if name in ("length", "width"):
            along = assembly.by_label[label].placement.axes[int(name == "width")]
            yield label, int(np.abs(along).argmax())


# -- boards
# ------------------------------------------------------------------------------------------------------------


def _sized(part: Part, rule: Rule, measured: dict[Key, float]) -> Part:
    """A part with its length, width and, where it is sawn, its thickness rounded; what is on it stays in its place."""
    found = part
    lines = part.role.height in ("edge", "groove")
    names: tuple[tuple[str, Sizes], ...] = (("length", "length"), ("width", "heights" if lines else "width"))
    for own, (name, sizes) in enumerate(names):
        drawn = part.shape.size[own]
        size = rule.of(part, sizes).rounded(drawn, "nearest" if lines else "down")
        if part.role.height == "datum":  # the grooves say which way
            continue
        if (part.label, None, name) not in measured and size > 0:
            found = resized(found, own, size)
    return found


def _round_features(fitting: Fitting, kinds: Iterable[Alike], measured: dict[Key, float]) -> None:
    """Rounds what is cut into all parts, where they stand so far; alike parts alike."""
    for kind in kinds:
        moved = [_moved(fitting, label) for (label,) in kind.members]
        turned = [np.sign(np.diag(turn.rotation)[:2]) for turn in kind.turns]
        first = np.mean([_turned(one, signs) for one, signs in zip(moved, turned, strict=True)], axis=0)
        for (label,), signs in zip(kind.members, turned, strict=True):
            own = _turned(first, signs)
            fitting.parts[label] = _with_features(fitting, label, own, measured)
    fitting.__dict__.pop("now", None)


def _moved(fitting: Fitting, label: str) -> Floats:
    """(2, 2) float: of u and of v, how much farther up that axis than drawn a board's low and high edge stand, mm."""
    drawn = fitting.drawn.by_label[label]
    if drawn.role.slides:
        return np.zeros((2, 2))
    by = np.array(fitting.box(label)) - np.array(drawn.box)
    found = []
    for along in drawn.placement.axes[:2]:
        axis = int(np.abs(along).argmax())
        low, high = by[:, axis]
        found.append((low, high) if along[axis] > 0 else (-high, -low))
    return np.array(found)


def _turned(moved: Floats, signs: Floats) -> Floats:
    """The same seen from a part that is turned end for end along u, or along v."""
    return np.array([one if sign >= 0 else -one[::-1] for one, sign in zip(moved, signs, strict=True)])


def _with_features(fitting: Fitting, label: str, moved: Floats, measured: dict[Key, float]) -> Part:
    drawn, part = fitting.drawn.by_label[label], fitting.parts[label]
    if not drawn.shape.features:
        return part
    (u, v) = drawn.placement.axes[:2]
    rule = fitting.rule
    upright = "heights" if drawn.role.height in ("edge", "groove") else "cuts"
    by = Rounder(
        (rule.of(drawn, "cuts").rounded, rule.of(drawn, upright).rounded),
        drawn.shape.blank,
        part.shape.blank,
        ((float(moved[0, 0]), float(moved[0, 1])), (float(moved[1, 0]), float(moved[1, 1]))),
        (abs(float(u[2])) > 0.5, abs(float(v[2])) > 0.5),
    )
    shape = replace(part.shape, features=tuple(feature.rounded(by) for feature in drawn.shape.features))
    for key, value in measured.items():
        if key[0] == label and key[1] is not None:
            shape = _set(shape, key, value)
    return replace(
        part,
        shape=shape,
        drawn=part.drawn or drawn.shape,
        drawn_placement=part.drawn_placement or drawn.placement,
    )


def _set(shape: Shape, key: Key, value: float) -> Shape:
    """A shape with one of its dimensions as measured."""
    one = next(one for one in shape.dimensions if (one.number, one.name) == key[1:])
    return shape.resized(one, value - one.value, False)


def _with_strips(part: Part, drawn: Part) -> Part:
    """A part with the strips that are glued onto it as long and as wide as the field within them leaves them."""
    field = next((one for one in part.shape.grooves if one.kind == "field"), None)
    if not drawn.strips or field is None:
        return part
    length, width, _ = part.shape.size
    rim = field.u0 - part.shape.blank.low[0]
    strips = tuple(
        GluedStrip(
            length if abs(one.length - drawn.shape.size[0]) <= CONTACT else width - 2 * rim,
            rim,
            one.height,
            one.count,
        )
        for one in drawn.strips
    )
    return replace(part, strips=strips)


# -- what is printed
# ------------------------------------------------------------------------------------------------------------


def _size_entries(fitting: Fitting, measured: dict[Key, float]) -> Iterator[AsCut]:
    """Every size that is rounded, as an entry; also one that stays, where its board loses wood at the end from which it
    is measured."""
    rule = fitting.rule
    for drawn in fitting.drawn.parts:
        new = {(one.number, one.name): one for one in fitting.parts[drawn.label].shape.dimensions}
        board, now = drawn, {(one.number, one.name): one.value for one in drawn.shape.dimensions}
        for one in drawn.shape.dimensions:
            if _key(drawn, one) in measured:
                continue
            value = new[one.number, one.name].value
            value = rule.rounded(value) if one.unit == "mm" and rule.shows(value) else value
            if abs(value - now[one.number, one.name]) <= 1e-10:
                continue
            mm, degrees = (value, None) if one.unit == "mm" else (None, value)
            entry = AsCut(drawn.label, name_of(drawn, one), value=mm, degrees=degrees, leaf=one.leaf)
            yield entry
            if one.number is None and drawn.shape.features:
                board = cut_by(board, entry, drawn.label)
                now = {(other.number, other.name): other.value for other in board.shape.dimensions}


def _place_entries(fitting: Fitting) -> Iterator[AsCut]:
    """How far parts themselves stand elsewhere than drawn."""
    for label, place in fitting.places.items():
        u, v, _ = fitting.drawn.by_label[label].placement.axes
        along = np.abs(u if abs(u[2]) < 0.5 else v)
        across = np.array([along[1], along[0], 0.0])
        for name, direction in zip(PLACE, (along, across, np.array([0.0, 0.0, 1.0])), strict=True):
            by = float(direction @ place)
            if abs(by) > 1e-10:
                yield AsCut(label, name, deviation=by)


def _sizes(
    cut: Assembly, drawn: Assembly, rule: Rule, gaps: dict[str, tuple[str, ...]], measured: dict[Key, float]
) -> Iterator[tuple[Key, Printed]]:
    for part in cut.parts:
        was = {(one.number, one.name): one for one in drawn.by_label[part.label].shape.dimensions}
        for one in part.shape.dimensions:
            key = _key(part, one)
            yield key, _printed(one, was[one.number, one.name], rule, key in measured, part.label in gaps)


def _printed(one: Dimension, drawn: Dimension, rule: Rule, measured: bool, in_gap: bool) -> Printed:
    if one.unit != "mm":
        return Printed(one.value, f"{one.value:.1f}".removesuffix(".0"), "bit")
    if measured or one.set_from != "rule":
        how: How = "rule" if one.set_from == "rule" else one.set_from
        return Printed(drawn.value, rule.exact(drawn.value), how)
    if rule.shows(one.value) and not (in_gap and one.name == "length"):
        value = rule.rounded(one.value)
        return Printed(value, rule.text(value))
    # Of what is cut to fit, a place counted from the end that goes by the gap is as odd as its length.
    return Printed(one.value, rule.exact(one.value), "gap" if in_gap else "rule")


def alike_as_printed(rounded: Rounded) -> Iterator[Alike]:
    """Kinds of the parts as drawn, taken apart where one is cut to fit and another is not."""
    drawn = alike_parts(rounded.drawn)
    found = [(kind, numbers) for kind, one in enumerate(drawn) for numbers in _printed_alike(rounded, one)]
    firsts = {}
    for place, (kind, _) in reversed(list(enumerate(found))):
        firsts[kind] = place
    for kind, numbers in found:
        one = drawn[kind]
        yield Alike(
            tuple(one.members[at] for at in numbers),
            tuple(one.turns[at] for at in numbers),
            None if one.mirror is None else firsts[one.mirror],
        )


def _printed_alike(rounded: Rounded, kind: Alike) -> list[list[int]]:
    """Numbers of the members of a kind that are printed with the same length and width, those together."""
    found: dict[tuple[Printed, ...], list[int]] = defaultdict(list)
    for at, (label,) in enumerate(kind.members):
        found[tuple(rounded.sizes[label, None, name] for name in ("length", "width"))].append(at)
    return list(found.values())
