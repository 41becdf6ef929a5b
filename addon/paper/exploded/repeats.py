"""Which units of a table are like others, and what their labels say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...wood.assembly import Assembly


@dataclass(frozen=True)
class Repeat:
    """Units that are alike: the labels of their parts, those of the first unit first."""

    units: tuple[tuple[str, ...], ...]

    @property
    def first(self) -> tuple[str, ...]:
        """Labels of the parts of the first."""
        return self.units[0]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.units)


def repeats_of(assembly: Assembly, units: Sequence[Sequence[str]]) -> tuple[Repeat, ...]:
    """Units of the same role whose parts have the same shapes, in order; each unit is in one."""
    found: dict[object, list[tuple[str, ...]]] = {}
    for labels in units:
        parts = [assembly.by_label[label] for label in labels]
        found.setdefault(tuple((part.role, part.shape) for part in parts), []).append(tuple(labels))
    return tuple(Repeat(tuple(alike)) for alike in found.values())


def unit_texts(assembly: Assembly, repeats: Sequence[Repeat], once: bool) -> dict[str, str]:
    """Label of a part → what its unit's label on the paper says.

    Parameters
    ----------
    once : only for the first of units that are alike, with their number
    """
    found = {}
    for repeat in repeats:
        for labels in repeat.units[:1] if once else repeat.units:
            part = assembly.by_label[labels[0]]
            name = part.name.partition(",")[0] if len(labels) == 1 else group_name(assembly, labels)
            count = f" ×{repeat.count}" if once and repeat.count > 1 else ""
            found |= dict.fromkeys(labels, f"{'+'.join(labels)} {name}{count}")
    return found


def group_name(assembly: Assembly, labels: Sequence[str]) -> str:
    """What parts that are glued up are called together."""
    return assembly.by_label[labels[0]].role.replace("_", " ")
