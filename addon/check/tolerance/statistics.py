"""Random deviations, shares with their bounds, and capability: the arithmetic of tolerances.

Tables with random deviations are drawn with a seed, in pieces that fit into memory, alike however they are cut up.

Bounds of a share are Wilson's (Newcombe, Statist. Med. 17 (1998) 857-872); of a share that was never seen, the exact
one-sided bound. Capability: NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from statistics import NormalDist
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from .deviations import Deviation

NORMAL: Final = NormalDist()

CONFIDENCE: Final = 0.95

SIGMAS: Final = 3.0
"""Standard deviations that a tolerance stands for where deviations are taken as normal."""

AT_ONCE: Final = 10_000
"""Tables that are worked out together."""

_MOST: Final = 2_000_000
"""Numbers that are drawn at a time, at most; it bounds the memory of tables with many dimensions."""


def deviations(
    found: Sequence[Deviation], distribution: str, count: int, seed: int, at_once: int = AT_ONCE
) -> Iterator[Floats]:
    """Random deviations of `count` tables, in pieces of (deviations, n <= at_once) float mm.

    Each dimension has random numbers of its own, which follow from its name: tables that differ in some dimensions are
    alike in all others, and the first of many tables are those of a few.

    Parameters
    ----------
    distribution : ``uniform`` within the tolerance, or ``normal`` with a standard deviation of a third of it; of
        deviations that are one-sided it is the size
    """
    at_once = max(1, min(at_once, _MOST // max(1, len(found))))
    own = [np.random.Generator(np.random.PCG64([seed, _number(one.name)])) for one in found]
    for first in range(0, count, at_once):
        drawn = np.empty((len(found), min(at_once, count - first)))
        for values, generator, one in zip(drawn, own, found, strict=True):
            if distribution == "uniform":
                values[:] = (generator.random(len(values)) * 2.0 - 1.0) * one.tolerance
            else:
                values[:] = generator.standard_normal(len(values)) * (one.tolerance / SIGMAS)
            if one.one_sided:
                np.abs(values, out=values)
        yield drawn


def _number(name: str) -> int:
    return int.from_bytes(blake2b(name.encode(), digest_size=8).digest(), "little")


@dataclass(frozen=True)
class Share:
    """How many of how many, with the bounds between which the true share lies at 95 % confidence (Wilson)."""

    count: int
    of: int
    value: float
    low: float
    high: float


def share(count: int, of: int) -> Share:
    """The share `count` of `of`. Raises ValueError unless 0 <= count <= of and of > 0."""
    low, high = wilson(count, of)
    return Share(count, of, count / of, low, high)


def wilson(count: int, of: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Wilson's score interval of a share. Raises ValueError unless 0 <= count <= of and of > 0."""
    if not 0 <= count <= of or of == 0:
        raise ValueError(f"{count} of {of} is no share")
    z = NORMAL.inv_cdf((1 + confidence) / 2)
    p = count / of
    middle = (p + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(p * (1 - p) / of + z * z / (4 * of * of))
    # At the ends the bound is 0 or 1 exactly; rounding would leave it a hair off.
    return (0.0 if count == 0 else middle - half), (1.0 if count == of else middle + half)


def most_failures(of: int, confidence: float = CONFIDENCE) -> float:
    """Greatest share of failures that may hide where none was seen in `of`: one-sided, exact, about 3 / of."""
    return 1 - (1 - confidence) ** (1 / of)


@dataclass(frozen=True)
class Capability:
    """How far a normal dimension stays within its limits.

    Parameters
    ----------
    cp : width between the limits in units of 6 sigma; None with one limit only
    cpk : from the mean to the nearer limit in units of 3 sigma
    outside : share outside the limits
    """

    cp: float | None
    cpk: float
    outside: float


def capability(mean: float, sigma: float, low: float | None, high: float | None) -> Capability:
    """Capability of a normal dimension between two limits, or above or below one.

    Raises ValueError without a limit or with a negative sigma.
    """
    if low is None and high is None:
        raise ValueError("capability needs a limit")
    if sigma < 0:
        raise ValueError("sigma is negative")
    distances = [mean - low if low is not None else math.inf, high - mean if high is not None else math.inf]
    outside = sum(tail(distance, sigma) for distance in distances)
    cp = _per(high - low, 6 * sigma) if low is not None and high is not None else None
    return Capability(cp, _per(min(distances), 3 * sigma), outside)


def capability_word(cpk: float) -> str:
    """What a capability is called (a quality glossary's words, common to many)."""
    if cpk > 1.33:
        return "more than adequate"
    if cpk >= 1.0:
        return "adequate"
    return "not adequate" if cpk >= 0.67 else "inadequate"


def tail(distance: float, sigma: float) -> float:
    """Share of a normal dimension farther than `distance` from its mean, on one side."""
    if sigma == 0 or not math.isfinite(distance):
        return 0.0 if distance >= 0 else 1.0
    return 0.5 * math.erfc(distance / (sigma * math.sqrt(2)))


def _per(distance: float, spread: float) -> float:
    if spread == 0:
        return math.copysign(math.inf, distance)
    return distance / spread
