"""Which sizes need a finer rule, found by trying, where a table does not come through being rounded."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from ..check.prepared import prepare
from ..check.progress import Steps
from ..designs.findings import Finding
from ..designs.table.design import check_prepared
from ..designs.table.parameters import Table
from ..sizes.errors import PartError
from ..sizes.tolerances import WELD
from ..sizes.units import MM_PER_INCH, format_given
from ..wood.assembly import Assembly
from ..wood.roles import role_of
from .figures import Rule, Sizes
from .rounding import Rounded, rounded_table

_SIZES: Final[tuple[Sizes, ...]] = ("cuts", "width", "length")
_WORDS: Final[dict[Sizes, str]] = {
    "heights": "heights of sides, ribs, slots and windows",
    "cuts": "cuts in the",
    "width": "width of the",
    "length": "length of the",
}
_DIVISIONS: Final = {
    "mm": (5.0, 2.0, 1.0, 0.5, 0.25, 0.1),
    "in": tuple(float(MM_PER_INCH) / parts for parts in (4, 8, 16, 32, 64)),
}
"""What rules show, the coarsest first, mm."""
_MOST_TRIES: Final = 16


@dataclass(frozen=True)
class Finer:
    """Some sizes of the parts of one role, or all heights, and the coarsest division that does for them, mm."""

    role: str
    sizes: Sizes
    division: float

    def words(self, rule: Rule) -> str:
        """``width of the leaves to 0.5 mm``"""
        of = f" {role_of(self.role).many}" if self.role else ""
        return f"{_WORDS[self.sizes]}{of} to {format_given(self.division, rule.units)}"


Group = tuple[Finer, ...]
"""Sizes that are tried together."""

What = tuple[str, str]
"""Rule and severity of a finding."""


def amiss(table: Table, rounded: Rounded) -> tuple[Finding, ...]:
    """What is wrong with a table as rounded that is not wrong with it as drawn."""
    drawn = {_what(one) for one in _findings(table, rounded.drawn)}
    return tuple(one for one in _findings_of(table, rounded) if _what(one) not in drawn)


def _findings_of(table: Table, rounded: Rounded) -> list[Finding]:
    return _findings(replace(table, as_cut=(*table.as_cut, *rounded.entries)), rounded.assembly)


def _findings(table: Table, assembly: Assembly) -> list[Finding]:
    return [one for one in check_prepared(table, prepare(assembly)).findings if one.severity != "note"]


def _what(finding: Finding) -> What:
    return finding.rule, finding.severity


def finer_steps(
    table: Table, assembly: Assembly, rule: Rule, wrong: Iterable[Finding]
) -> Steps[tuple[Finer, ...]]:
    """Few sizes that need a finer rule, and how fine a one, step by step; none where no rule is fine enough.

    Parameters
    ----------
    wrong : what is amiss with all sizes rounded alike
    """
    finer = [one for one in _DIVISIONS[rule.units] if one < rule.division - WELD]
    if not finer:
        return ()
    wanted, drawn = {_what(one) for one in wrong}, {_what(one) for one in _findings(table, assembly)}

    def left(chosen: Iterable[Finer]) -> set[What]:
        asked = tuple(((one.role, one.sizes), one.division) for one in chosen)
        try:
            rounded = rounded_table(assembly, replace(rule, finer=asked))
        except PartError:
            return wanted
        return {_what(one) for one in _findings_of(table, rounded)} - drawn

    groups = list(_groups(assembly, wrong, finer[-1]))[:_MOST_TRIES]
    cured: dict[Group, set[What]] = {}
    for tried, group in enumerate(groups):
        yield tried / (len(groups) + 1)
        cured[group] = wanted - left(group)
        found = _enough(cured, wanted)
        if found and (found == group or not left(found)):
            yield (tried + 1) / (len(groups) + 1)
            return _coarsest(found, finer, lambda chosen: not left(chosen))
    return ()


def _enough(cured: dict[Group, set[What]], wanted: set[What]) -> Group:
    """Sizes which together cure all that is wrong, as few as can be told; none where nothing is known to cure some of
    it."""
    found: list[Finer] = []
    rest = set(wanted)
    while rest:
        best = max(cured, key=lambda one: (len(cured[one] & rest), -len(one)))
        if not cured[best] & rest:
            return ()
        found += best
        rest -= cured[best]
    return tuple(dict.fromkeys(found))


def _coarsest(found: Group, divisions: list[float], works: Callable[[Group], bool]) -> Group:
    """The same without what is not needed, and each division as coarse as the others let it be."""
    for one in found:
        others = tuple(other for other in found if other != one)
        if others and works(others):
            found = others
    for at, one in enumerate(found):
        for division in divisions[:-1]:
            coarser = (*found[:at], replace(one, division=division), *found[at + 1 :])
            if works(coarser):
                found = coarser
                break
    return found


def _groups(assembly: Assembly, wrong: Iterable[Finding], division: float) -> Iterator[Group]:
    """Sizes that may be to blame: heights, and those of parts that are named in what is wrong, in the order of naming,
    then others; first each by itself, then all of a part."""
    yield (Finer("", "heights", division),)
    named = [
        assembly.by_label[label].role for one in wrong for label in one.parts if label in assembly.by_label
    ]
    every = [part.role for part in assembly.parts]
    for roles in (dict.fromkeys(named), dict.fromkeys(role for role in every if role not in named)):
        own = {
            role: tuple(
                Finer(role.word, sizes, division)
                for sizes in _SIZES
                if (sizes != "width" or role.height not in ("edge", "groove"))
                and (sizes != "cuts" or any(part.shape.features for part in assembly.with_role(role.word)))
            )
            for role in roles
        }
        yield from ((one,) for all_sizes in own.values() for one in all_sizes)
        yield from own.values()
