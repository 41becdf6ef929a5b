"""Settings of the saw: fences for widths, stop blocks for lengths, tilted cuts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from .cut_list import Line, cut_list, exact
from .figures import Figure
from .job import Job


@dataclass(frozen=True, eq=False)
class Setting:
    """One setting of fence or stop block.

    Parameters
    ----------
    setting : blade to fence or stop
    with_kerf : the same on a tape that counts from the far side of the blade
    count : how many are cut at it
    labels : of the parts
    note : what else is done, in words
    """

    setting: Figure
    with_kerf: Figure
    count: int
    labels: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, eq=False)
class SawSettings:
    """All settings of the saw: fences wide to narrow, stop blocks long to short, tilted cuts in words."""

    job: Job

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Of the cut list."""
        return tuple(line for stock in cut_list(self.job) for line in stock.lines)

    @property
    def fences(self) -> tuple[Setting, ...]:
        """For the widths, and on edge for the thicknesses of what is thinner than its sheet."""
        flat = self._settings((line.width, line) for line in self.lines)
        thin = self._settings(((line.thickness, line) for line in self.lines if line.thin), "on edge")
        return (*flat, *thin)

    @property
    def stops(self) -> tuple[Setting, ...]:
        """For the lengths; of what is cut to fit that to which it is sawn first."""
        settings = self._settings((line.sawn, line) for line in self.lines)
        fitted = {label for line in self.lines if line.rough for label in line.labels}
        return tuple(
            replace(one, note="cut to fit last") if fitted & set(one.labels) else one for one in settings
        )

    def _settings(self, wanted: Iterable[tuple[Figure, Line]], note: str = "") -> tuple[Setting, ...]:
        found: dict[str, list[tuple[Figure, Line]]] = {}
        for figure, line in wanted:
            found.setdefault(figure.printed, []).append((figure, line))
        settings = [self._setting(ones, note) for ones in found.values()]
        return tuple(sorted(settings, key=lambda one: -one.setting.value))

    def _setting(self, ones: list[tuple[Figure, Line]], note: str) -> Setting:
        figure = ones[0][0]
        lines = [line for _, line in ones]
        return Setting(
            figure,
            exact(self.job, f"{figure.name} and kerf", figure.value + self.job.tools.kerf, figure.part),
            sum(line.count for line in lines),
            tuple(label for line in lines for label in line.labels),
            note,
        )

    @property
    def angles(self) -> tuple[tuple[Figure, tuple[str, ...]], ...]:
        """Angles to which the blade is tilted, each with labels."""
        found: dict[str, tuple[Figure, list[str]]] = {}
        for part in self.job.drawn.parts:
            for one in part.shape.dimensions:
                if one.name == "bevel_angle":
                    figure = self.job.rounded.figure(part, one)
                    found.setdefault(figure.printed, (figure, []))[1].append(part.label)
        return tuple((figure, tuple(dict.fromkeys(labels))) for figure, labels in found.values())
