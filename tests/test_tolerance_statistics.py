"""The arithmetic of tolerances against published tables and exact distributions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from addon.check.tolerance import statistics
from addon.check.tolerance.deviations import Deviation
from addon.check.tolerance.statistics import deviations
from addon.wood.limits import Tolerances


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_as_published(count: int, of: int, low: float, high: float) -> None:
    """Newcombe, Statist. Med. 17 (1998) 857, Table I, method 3 (figures from memory)."""
    assert statistics.wilson(count, of) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("count", "of"), [(29, 29), (4, 20), (50, 100), (3, 1000), (0, 1000), (9968, 10_000)]
)
def test_wilson_as_scipy_has_it(count: int, of: int) -> None:
    """Method "wilson" of scipy's exact binomial test result."""
    found = statistics.share(count, of)
    wanted = stats.binomtest(count, of).proportion_ci(0.95, method="wilson")
    assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high), abs=1e-12)
    assert found.value == count / of
    assert found.low <= found.value <= found.high


@pytest.mark.parametrize(("count", "of"), [(1, 0), (-1, 5), (6, 5)])
def test_no_share(count: int, of: int) -> None:
    with pytest.raises(ValueError, match="is no share"):
        statistics.share(count, of)


@pytest.mark.parametrize(("of", "most"), [(20, 0.13911), (1000, 0.0029912)])
def test_no_failure_in_so_many(of: int, most: float) -> None:
    """1 - 0.05^(1/n), exact: then nothing fails in n with a chance of 5 %, by the binomial distribution."""
    assert statistics.most_failures(of) == pytest.approx(most, rel=1e-4)
    assert stats.binom.pmf(0, of, statistics.most_failures(of)) == pytest.approx(0.05, rel=1e-12)


@pytest.mark.parametrize(
    ("cp", "per_million"),
    [(1 / 3, 317310.5), (2 / 3, 45500.3), (1, 2699.80), (4 / 3, 63.3425), (5 / 3, 0.5733), (2, 0.00197)],
)
def test_capability_of_a_centered_dimension(cp: float, per_million: float) -> None:
    """NIST/SEMATECH e-Handbook 6.1.6: Cp = (USL - LSL) / 6 sigma; parts per million as common tables have them."""
    found = statistics.capability(10.0, 0.5, 10.0 - 1.5 * cp, 10.0 + 1.5 * cp)
    assert (found.cp, found.cpk) == pytest.approx((cp, cp))
    assert found.outside * 1e6 == pytest.approx(per_million, rel=2e-3)
    assert found.outside == pytest.approx(2 * stats.norm.sf(3 * cp), rel=1e-9)


def test_capability_off_the_middle_and_with_one_limit() -> None:
    """Cpk = min(USL - mean, mean - LSL) / 3 sigma (same handbook)."""
    found = statistics.capability(10.2, 0.1, 9.7, 10.3)
    assert found.cpk == pytest.approx(0.1 / 0.3)
    assert found.outside == pytest.approx(stats.norm.sf(1) + stats.norm.cdf(-5), rel=1e-12)
    below = statistics.capability(0.4, 0.2, 0.0, None)
    assert (below.cp, below.cpk) == (None, pytest.approx(0.4 / 0.6))
    assert below.outside == pytest.approx(stats.norm.cdf(-2), rel=1e-12)
    assert statistics.capability(0.1, 0.0, 0.0, None).cpk == math.inf
    assert statistics.capability(-0.1, 0.0, 0.0, None).outside == 1.0


@pytest.mark.parametrize(
    ("cpk", "word"),
    [(1.34, "more than adequate"), (1.33, "adequate"), (0.99, "not adequate"), (0.66, "inadequate")],
)
def test_words_for_a_capability(cpk: float, word: str) -> None:
    """Limits 1.33, 1.00 and 0.67 of a quality glossary."""
    assert statistics.capability_word(cpk) == word


def dimensions(tolerances: list[float]) -> list[Deviation]:
    return [Deviation(f"dimension {n}", "sawn size", "", one) for n, one in enumerate(tolerances)]


def sums(distribution: str, tolerance: float, parts: int, count: int) -> np.ndarray:
    drawn = deviations(dimensions([tolerance] * parts), distribution, count, seed=7)
    return np.concatenate([own.sum(axis=0) for own in drawn])


def test_four_uniform_parts() -> None:
    """Irwin-Hall, exactly: P(|sum| > 0.4) = 1/12 and P(|sum| > 0.6) = 1/192; root sum square would say 0.27 %."""
    count = 1_000_000
    off = np.abs(sums("uniform", 0.2, 4, count))
    assert off.max() <= 0.8
    for limit, chance in ((0.4, 1 / 12), (0.6, 1 / 192)):
        assert (off > limit).mean() == pytest.approx(chance, abs=4 * math.sqrt(chance * (1 - chance) / count))
        # Half of the sum of four numbers from 0 to 1 is off by so much: scipy's density, integrated.
        assert 2 * stats.irwinhall(4).sf(limit / 0.4 + 2) == pytest.approx(chance, rel=1e-9)


def test_four_normal_parts() -> None:
    """The same with tolerances of three sigmas: 0.27 % beyond the root sum square."""
    off, chance = np.abs(sums("normal", 0.2, 4, 1_000_000)), 2 * stats.norm.sf(3)
    assert (off > 0.4).mean() == pytest.approx(chance, abs=4 * math.sqrt(chance / 1_000_000))
    assert off.std() < 0.2


def test_worst_case_below_zero_and_hardly_a_failure() -> None:
    """An article's board stack: worst case -0.20 mm, and about 0.04 % fail. Four alike parts that make it so."""
    tolerance = 0.2 / (4 - 2 * stats.norm.isf(0.0004) / 3)
    nominal = 4 * tolerance - 0.2
    gaps = nominal + sums("normal", tolerance, 4, 500_000)
    assert nominal - 4 * tolerance == pytest.approx(-0.20)
    assert (gaps < 0).mean() == pytest.approx(0.0004, abs=4 * math.sqrt(0.0004 / 500_000))


@pytest.mark.parametrize("distribution", ["uniform", "normal"])
def test_numbers_do_not_depend_on_the_pieces(distribution: str) -> None:
    tolerances = dimensions([0.1, 0.5, 2.0])
    whole = np.concatenate(list(deviations(tolerances, distribution, 1000, 3, 1000)), axis=1)
    pieces = list(deviations(tolerances, distribution, 1000, 3, 77))
    assert [one.shape[1] for one in pieces] == [77] * 12 + [76]
    assert (np.concatenate(pieces, axis=1) == whole).all()
    other = np.concatenate(list(deviations(tolerances, distribution, 1000, 4, 1000)), axis=1)
    assert not (other == whole).any()


@pytest.mark.parametrize("distribution", ["uniform", "normal"])
def test_a_dimension_is_off_alike_whatever_else_a_table_has(distribution: str) -> None:
    """Paired runs: the same seed, with one dimension more, in another order, with more tables."""
    few = dimensions([0.1, 0.5])
    more = [Deviation("another", "sawn size", "", 0.3), *reversed(few)]
    (one,) = deviations(few, distribution, 50, 3)
    (other,) = deviations(more, distribution, 80, 3)
    assert (other[:0:-1, :50] == one).all()
    assert abs(np.corrcoef(other)[np.triu_indices(3, 1)]).max() < 0.5


def test_defaults_are_those_of_class_m() -> None:
    """ISO 2768-1 Table 1, class m: 0.2 from 6 to 30 mm (a slot's height), 0.5 from 120 to 400 (where it is)."""
    given = Tolerances()
    assert given.opening_size == 0.2
    assert given.opening_place == 0.5
    assert given.sawn_size <= 0.8
