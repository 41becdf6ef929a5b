"""What pulls a leaf out: finger holes and recessed pulls that fingers find, get into and have room below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

import numpy as np

from ....check.causes import CoveredGrip, FarGrip, Grip, NoGrip, SmallGrip
from ....check.facts import Fact
from ....sizes.declare import parameters
from ....sizes.tolerances import CONTACT
from ...findings import Candidate, Change, Remedy, Sized
from ..leaf_parameters import own_of
from ..leaves import BESIDE_RECESS
from ..parameters import Leaves, Stow
from ..refusals import BESIDE_HOLE
from .case import MARGIN, Advice, Case, both
from .clearances import farther_out
from .overlaps import narrower_legs

_STRAP: Final = Remedy("Screw a strap to the leaf's outer end, to pull it out by")
"""Where no place for a hole or pull holds (common practice, no source)."""

_USUAL_HOLE: Final = next(one for one in parameters(Leaves) if one.name == "finger_hole")
"""Of a leaf that has none; as far a leaf without a hole has to stand out to be gripped (common practice, no source)."""

WOOD_BEYOND_HOLE: Final = 5.0
"""Wood between a hole and the leaf's outer end, mm (common practice, no source)."""


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """What all leaves have in common, or one has of its own."""
    own = Own.of(case, fact.leaf)
    return frozenset({f"{fact.rule} of {fact.leaf if own.grips_alone else 'all leaves'}"})


def no_grip(case: Case, fact: Fact, cause: NoGrip) -> Advice:
    """A leaf that lies inside with nothing to draw it out by."""
    inside = f"{fact.leaf} lies {case.place(cause.inside)} inside {cause.side} and "
    if cause.turned_away:
        return Advice(inside + "its pull faces up.", _pull_below(case), _STRAP)
    usual = _USUAL_HOLE.default_in(case.table.units)
    return Advice(
        inside + "has no finger hole.",
        _wider_hole(case, Own.of(case, fact.leaf), max(fact.amount, usual)),
        _STRAP,
    )


def small_grip(case: Case, fact: Fact, cause: SmallGrip) -> Advice:
    """A hole or pull that takes no finger."""
    short = "hole" if cause.grip.kind == "finger hole" else "pull"
    return Advice(
        f"The {short} in {fact.leaf}, {case.place(cause.grip.least_size)} wide, is too small for a finger.",
        _larger(case, Own.of(case, fact.leaf), cause.grip, cause.least),
        _STRAP,
    )


def out_of_reach(case: Case, group: Sequence[Fact]) -> Advice:
    """Holes or pulls too far inside, or with something below them: one inset is that of all leaves."""
    fact = group[0]
    own = Own.of(case, fact.leaf)
    if isinstance(fact.cause, FarGrip):
        cause = fact.cause
        return Advice(
            f"The {cause.grip.kind} of {fact.leaf} is {case.place(cause.depth)} inside {cause.side}, out of reach.",
            *_nearer(case, own, cause.grip, max(one.amount for one in group)),
            _STRAP,
        )
    covered = [one.cause for one in group if isinstance(one.cause, CoveredGrip)]
    return Advice(
        f"{covered[0].by} is in the way of fingers below the {covered[0].grip.kind} of {fact.leaf}.",
        *_free_from_below(case, own, covered),
        _STRAP if fact.severity == "error" else Remedy(f"Draw {covered[0].by} out first, then {fact.leaf}"),
    )


# -- where a hole or pull may be
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Own:
    """What a leaf is made by: its own parameters where it has any, those of all else."""

    leaves: Leaves
    stow: Stow | None = None
    number: int = 0

    @classmethod
    def of(cls, case: Case, leaf: str) -> Own:
        """Of a leaf by its label."""
        table = case.table
        for path in case.assembly.stow_paths:
            if path.leaf == leaf and path.position < len(table.stow):
                stow = table.stow[path.position]
                return cls(own_of(table.leaves, stow), stow, path.position)
        return cls(table.leaves)

    def key(self, name: str) -> str:
        """Of a parameter in the file."""
        if self.stow is None or getattr(self.stow, name) is None:
            return f"leaves.{name}"
        return f"stow[{self.number}].{name}"

    def alone(self, name: str) -> str:
        """Of a parameter of this leaf alone in the file; of all where it cannot have its own."""
        return f"leaves.{name}" if self.stow is None else f"stow[{self.number}].{name}"

    @property
    def grips_alone(self) -> bool:
        """Whether it has a hole or pull of its own."""
        return any(self.key(name)[0] == "s" for name in _GRIPS)


_GRIPS: Final = (
    "finger_hole",
    "finger_hole_inset",
    "face",
    "pull_length",
    "pull_width",
    "pull_depth",
    "pull_inset",
)


@dataclass(frozen=True)
class _Inset:
    """Distance of a hole or pull from the leaf's outer end: its parameter, and how far that may be changed; mm.

    Parameters
    ----------
    verb : how it is made: ``drill`` or ``rout``
    least, most : values that the leaf can take without other changes
    """

    verb: str
    key: str
    value: float
    least: float
    most: float


def _inset_of(own: Own, grip: Grip) -> _Inset:
    leaves = own.leaves
    if grip.kind == "finger hole":
        inset = leaves.finger_hole_inset
        room = _room_for_hole(leaves, grip.across, inset)
        return _Inset("drill", own.key("finger_hole_inset"), inset, *room)
    least = leaves.rim_width if leaves.rim_height > 0 else BESIDE_RECESS
    most = leaves.tray_border - leaves.pull_width - BESIDE_RECESS if leaves.tray_depth > 0 else inf
    return _Inset("rout", own.key("pull_inset"), leaves.pull_inset, least, most)


def _hole_inset(leaves: Leaves, diameter: float) -> float:
    """The place for a hole of some diameter that is nearest to what the table says, mm from the outer end."""
    inset = max(leaves.finger_hole_inset, _least_inset(leaves, diameter))
    least, most = _room_for_hole(leaves, diameter, inset)
    return max(min(inset, most), least)


def _least_inset(leaves: Leaves, diameter: float) -> float:
    low = next(one.low or 0.0 for one in parameters(Leaves) if one.name == "finger_hole_inset")
    rim = leaves.rim_width + diameter / 2 + BESIDE_HOLE if leaves.rim_height > 0 else 0.0
    return max(diameter / 2 + WOOD_BEYOND_HOLE, low, rim)


def _room_for_hole(leaves: Leaves, diameter: float, inset: float) -> tuple[float, float]:
    """Smallest and greatest inset of a hole, mm: on the side of the tray recess's edge that it is on, if it can be."""
    least, border = _least_inset(leaves, diameter), leaves.tray_border
    reach = diameter / 2 + BESIDE_HOLE
    if leaves.tray_depth == 0:
        return least, inf
    if inset < border and least <= border - reach:
        return least, border - reach
    return max(least, border + reach), inf


# -- remedies
# ------------------------------------------------------------------------------------------------------------


def _pull_below(case: Case) -> Remedy:
    """The leaves the other way up stowed."""
    over = not case.table.leaves.turned_over
    text = "Stow the leaves turned over" if over else "Stow the leaves with their upper face up"
    return Remedy(f"{text}, so that their pulls are below", (Change("leaves.turned_over", over),))


def _larger(case: Case, own: Own, grip: Grip, least: float) -> Remedy:
    if grip.kind == "finger hole":
        return _wider_hole(case, own, least)
    changes = [
        Change(own.key(name), least)
        for name, now in (("pull_length", grip.across), ("pull_width", grip.along))
        if now < least
    ]
    return Remedy(f"Rout pulls {case.given(least)} long and wide", tuple(changes))


def _wider_hole(case: Case, own: Own, diameter: float) -> Remedy:
    inset = _hole_inset(own.leaves, diameter)
    changes = [Change(own.key("finger_hole"), diameter)]
    words = f"Drill a finger hole {case.given(diameter)} wide"
    if inset != own.leaves.finger_hole_inset:
        changes.append(Change(own.key("finger_hole_inset"), inset))
        words += f", {case.given(inset)} from the leaf's outer end"
    return Remedy(words, tuple(changes))


def _nearer(case: Case, own: Own, grip: Grip, by: float) -> Iterator[Candidate]:
    """A hole nearer to the leaf's outer end, leaves that stay farther out, or both."""
    now = _inset_of(own, grip)
    if now.value - by >= now.least:
        yield Sized(lambda mm: _at(case, now, mm), now.value - by, now.least)
    yield farther_out(case, by)
    if now.value - now.least > CONTACT and now.value - by < now.least:
        inset = max(case.less(now.least), now.least)
        nearest, rest = _at(case, now, inset), farther_out(case, by - (now.value - inset))
        yield Sized(lambda mm: both(nearest, rest.of(mm)), rest.need, rest.most)


def _at(case: Case, now: _Inset, inset: float) -> Remedy:
    """The hole or pull at another place."""
    return Remedy(
        f"{now.verb.capitalize()} it {case.given(inset)} from the leaf's outer end", (Change(now.key, inset),)
    )


def _free_from_below(case: Case, own: Own, causes: Sequence[CoveredGrip]) -> Iterator[Candidate]:
    """The least shifts of the hole either way that free it and leave it in reach; leaves that stand out."""
    now = _inset_of(own, causes[0].grip)
    spans = np.concatenate([cause.spans for cause in causes])
    least = now.least - now.value
    most = min(*(cause.spare for cause in causes), now.most - now.value)
    away = ((spans[:, 0], case.less), (spans[:, 1], case.more))
    insets = np.array([rounded(now.value + end) for ends, rounded in away for end in ends.tolist()])
    shifts = insets - now.value
    covered = ((spans[:, 0] < shifts[:, None] - CONTACT) & (spans[:, 1] > shifts[:, None] + CONTACT)).any(
        axis=1
    )
    free = np.unique(insets[~covered & (shifts >= least) & (shifts <= most)])
    for inset in sorted(free.tolist(), key=lambda one: abs(one - now.value))[:2]:
        yield _at(case, now, inset)
    if case.is_of_leg(case.assembly.by_label[causes[0].by]):
        yield narrower_legs(case, MARGIN)
    if not len(free):
        yield farther_out(case, case.more(MARGIN))
        out = _USUAL_HOLE.default_in(case.table.units)
        yield Remedy(
            f"Let the leaves stand {case.given(out)} out, to be gripped there",
            (Change("stowing.set_back", -out),),
        )
