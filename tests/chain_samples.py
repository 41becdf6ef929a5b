"""Rows of segments between through ribs, at random: as chains, without the table around them; and linear programs."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import numpy as np
from scipy.optimize import linprog

from addon.check.chains.links import Chain, Link


def link(low: int, high: int, excess: float, *, ends_low: bool = True) -> Link:
    """A joint between two parts that is off by some mm, all of it by the part whose end it is."""
    off = (excess, 0.0) if ends_low else (0.0, excess)
    return Link(low, high, excess, *off, ends_low, (0.0, 0.0, 0.0))


def chain(labels: list[str], links: list[Link]) -> Chain:
    """Parts in order, of which those at the ends of the chain are held."""
    between = {one.low for one in links} & {one.high for one in links}
    return Chain(0, tuple(labels), frozenset(range(len(labels))) - between, tuple(links))


def row(*offs: tuple[float, float]) -> Chain:
    """One row of boards between two sides with a rib between each two: (off at the low end, off at the high end)."""
    return grid([list(offs)])


def grid(rows: list[list[tuple[float, float] | None]]) -> Chain:
    """Rows of segments between two sides, coupled by through ribs: for each row and bay what the segment is off at its
    low and at its high end, mm; None where there is no segment."""
    bays = len(rows[0])
    labels = ["low side"]
    links: list[Link] = []
    number = {"low side": 0}

    def add(label: str) -> int:
        number[label] = len(labels)
        labels.append(label)
        return number[label]

    uprights = [0]
    segments: list[tuple[int, int, tuple[float, float]]] = []
    for bay in range(bays):
        for at, one in enumerate(rows):
            off = one[bay]
            if off is not None:
                segments.append((bay, add(f"segment {at + 1}.{bay + 1}"), off))
        uprights.append(add("high side" if bay == bays - 1 else f"rib {bay + 1}"))
    for bay, own, (low, high) in segments:
        links.append(link(uprights[bay], own, low, ends_low=False))
        links.append(link(own, uprights[bay + 1], high))
    return chain(labels, links)


def random_grid(random: Random, finest: Fraction = Fraction(1, 16)) -> Chain:
    """One to three rows of one to five bays, some without a segment; ends off by exact fractions of a millimeter."""
    bays, count = random.randint(1, 5), random.randint(1, 3)

    def off() -> float:
        return float(random.choice([0, 0, 0, random.randint(-64, 64)]) * finest)

    def segment(at: int) -> tuple[float, float] | None:
        return None if at and random.random() < 0.2 else (off(), off())

    return grid([[segment(at) for _ in range(bays)] for at in range(count)])


# -- linear programs
# ------------------------------------------------------------------------------------------------------------------


def program(
    one: Chain,
    cost: list[float],
    free: list[tuple[float | None, float | None]],
    extra: list[list[float]] | None = None,
) -> float:
    """Least of cost · (positions, more) such that s(high) - s(low) + extra · more ≥ excess for every link; HiGHS."""
    rows, least = [], []
    for at, one_link in enumerate(one.links):
        coefficients = np.zeros(len(cost))
        coefficients[one_link.low], coefficients[one_link.high] = 1.0, -1.0
        if extra is not None:
            coefficients[len(one.labels) :] = -np.array(extra[at])
        rows.append(coefficients)
        least.append(-one_link.excess)
    found = linprog(cost, A_ub=np.array(rows), b_ub=least, bounds=free, method="highs")
    assert found.status == 0, found.message
    return float(found.fun)


def free_but_ends(one: Chain) -> list[tuple[float | None, float | None]]:
    return [(0.0, 0.0) if n in one.held else (None, None) for n in range(len(one.labels))]
