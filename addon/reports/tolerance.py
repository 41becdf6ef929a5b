"""The tolerance analysis in words and as data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from ..check.answer import Works
from ..check.tolerance.deviations import UNEVEN
from ..check.tolerance.report import (
    CoverTolerance,
    Effect,
    LeafInShop,
    LeafTolerance,
    RouterTolerance,
    RowTolerance,
    Stacked,
    ToleranceReport,
)
from ..check.tolerance.statistics import capability_word
from ..designs.words.answer import guide_words, in_shop_words, tables
from ..designs.words.study import amount as length
from ..designs.words.study import router_words, share_words, thickness_clause
from ..files.saving import plain
from ..sizes.units import Units, format_number, format_size

CAUTION: Final = (
    "Model result from your sizes and tolerances: rigid boards, no dust, no swelling. Measure what you cut, dry-fit "
    "before glue."
)
"""What stands under the analysis."""

_SHOWN: Final = 6
_MINDED: Final = 2
"""Dimensions named for each leaf on the screen, in each view and in a line."""

_DISTRIBUTIONS: Final = {
    "uniform": "every deviation within its tolerance equally likely",
    "normal": "deviations normal, tolerances three standard deviations",
}


def tolerance_document(report: ToleranceReport, units: Units) -> dict[str, Any]:
    """The analysis as plain data for JSON; lengths in mm, null where there is none.

    Keys: `table`, `units` (always mm), `shown_in` (unit of the sentences), `distribution`, `count` and `seed` of the
    random tables; `all_leaves_go_in`, `all_leaves_go_in_level`, `all_leaves_guide_themselves`, `all_works` (leaves and
    cover): shares; `worst_mm`, the least margin among these tables, `worst_case_mm`, the same with all deviations to
    the worse side; `leaves`, `cover`, `router`, `deviations`.

    - A share has `count`, `of`, `value`, and the 95 % confidence bounds `low` and `high`.
    - A leaf has `leaf`, `goes_in` (share), `thickness_mm`, `thickest_mm` (from there on it no longer goes in),
      `thickest_worst_mm` (all else to the worse side), and `side` and `plan`: `margin_mm` as drawn (half the smallest
      room on the way, tilt included), `level_margin_mm`, `level_worst_mm`, `goes_in`, `goes_in_level`, `mean_mm`,
      `standard_deviation_mm`, `quantiles_mm`, `worst_case` (a sum, with `held_by`, `remainder_mm` and the `case`
      itself: name of the dimension → deviation), `rss` (the sum that fails first by root sum square).
    - A sum has `nominal_mm`, `worst_mm`, `rss_mm`, `misses` and `cpk` (independent, normal, three sigmas), and
      `dimensions`, the greatest effect first: `name`, `kind`, `part`, `tolerance_mm`, `change` (a, mm per mm),
      `amount_mm` (a·T), `of_worst`, `of_variance`.
    - `cover` has `fits` and `gaps`, each a sum with `name` and `fits`; `router` has `wanted`, `scale`, the tolerances
      that it makes, `share`, `rss_scale`.
    """
    return plain(
        {
            "table": report.name,
            "units": "mm",
            "shown_in": units,
            "distribution": report.distribution,
            "count": report.count,
            "seed": report.seed,
            "all_leaves_go_in": report.passes,
            "all_leaves_go_in_level": report.passes_level,
            "all_leaves_guide_themselves": None if report.guides is None else report.guides,
            "all_works": report.works,
            "worst_mm": report.in_shop.worst,
            "worst_case_mm": report.in_shop.worst_case,
            "leaves": [
                {
                    **_leaf(leaf),
                    "works": own.works,
                    "guides_itself": own.guides,
                    "worst_mm": own.worst,
                    "worst_case_mm": own.worst_case,
                }
                for leaf, own in zip(report.leaves, report.in_shop.leaves, strict=True)
            ],
            "cover": None if report.cover is None else _cover(report.cover),
            "router": None if report.router is None else _router(report.router),
            "deviations": [
                {"name": one.name, "kind": one.kind, "part": one.part or None, "tolerance_mm": one.tolerance}
                for one in report.deviations
            ],
        }
    )


def _leaf(leaf: LeafTolerance) -> dict[str, Any]:
    return {
        "leaf": leaf.leaf,
        "goes_in": leaf.passes,
        "thickness_mm": leaf.thickness,
        "thickest_mm": leaf.thickest,
        "thickest_worst_mm": leaf.thickest_worst,
        "side": _row(leaf.side),
        "plan": _row(leaf.plan),
    }


def _row(row: RowTolerance) -> dict[str, Any]:
    worst = None
    if row.governing is not None and row.case is not None:
        worst = {
            **_sum(row.governing),
            "held_by": [{"part": one.part, "above": one.above, "x_mm": one.x} for one in row.held_by],
            "case": row.case.deviations,
            "remainder_mm": row.remainder,
        }
    return {
        "margin_mm": row.nominal,
        "level_margin_mm": row.level,
        "level_worst_mm": row.level_worst,
        "goes_in": row.passes,
        "goes_in_level": row.passes_level,
        "mean_mm": row.mean,
        "standard_deviation_mm": row.deviation,
        "quantiles_mm": {f"{share:g}": value for share, value in row.quantiles.items()},
        "worst_case": worst,
        "rss": None if row.likeliest is None else _sum(row.likeliest),
    }


def _sum(own: Stacked) -> dict[str, Any]:
    return {
        "nominal_mm": own.nominal,
        "worst_mm": own.worst,
        "rss_mm": own.rss,
        "misses": own.misses,
        "cpk": own.cpk,
        "dimensions": [_effect(one) for one in own.effects],
    }


def _effect(one: Effect) -> dict[str, Any]:
    return {
        "name": one.name,
        "kind": one.kind,
        "part": one.part or None,
        "tolerance_mm": one.tolerance,
        "change": one.change,
        "amount_mm": one.amount,
        "of_worst": one.of_worst,
        "of_variance": one.of_variance,
    }


def _cover(cover: CoverTolerance) -> dict[str, Any]:
    gaps = [{"name": gap.name, "fits": gap.fits, **_sum(gap.sum)} for gap in cover.gaps]
    return {"fits": cover.fits, "gaps": gaps}


def _router(router: RouterTolerance) -> dict[str, Any]:
    return {
        "wanted": router.wanted,
        "scale": router.scale,
        "most_scale": router.most,
        "opening_size_mm": router.opening_size,
        "opening_place_mm": router.opening_place,
        "groove_place_mm": router.groove_place,
        "share": router.share,
        "rss_scale": router.rss_scale,
    }


def tolerance_text(report: ToleranceReport, units: Units, details: bool = False) -> str:
    """The analysis as lines for the screen: how it goes in the shop, and what to mind with each leaf.

    Parameters
    ----------
    details : also all dimensions that matter, and root sum square and Cpk of independent, normal deviations
    """
    shop = report.in_shop
    by_hand = "" if shop.guides is None else f"; {guide_words(shop.guides)}"
    lines = [f"{report.name}: {in_shop_words(Works(shop.works, shop.worst), units)}{by_hand}"]
    lines += [
        _to_mind(leaf, own, units) for leaf, own in zip(report.leaves, report.in_shop.leaves, strict=True)
    ]
    if report.cover is not None:
        tightest = min(report.cover.gaps, key=lambda gap: gap.sum.worst)
        lines.append(f"Cover: {_greatest(tightest.sum.effects, units)}; {_left(tightest.sum.worst, units)}.")
    if report.router is not None:
        lines.append(router_words(report.router, units, details))
    if details:
        lines += ["", *_details(report, units)]
    return "\n".join([*lines, CAUTION])


def _to_mind(leaf: LeafTolerance, own: LeafInShop, units: Units) -> str:
    """How one leaf goes, and the dimensions that take the most from it."""
    words = f"{leaf.leaf}: " + ("" if own.works.count == own.works.of else f"works in {tables(own.works)}; ")
    held = [row.governing for row in (leaf.side, leaf.plan) if row.governing is not None]
    if not held:
        return f"{words}nothing holds it."
    worst = min(held, key=lambda one: one.worst)
    return f"{words}{_greatest(worst.effects, units)}; {_left(worst.worst, units)}."


def _greatest(effects: Sequence[Effect], units: Units) -> str:
    """What to measure and what to hold, what takes the most first."""
    words = []
    for one in effects[:_MINDED]:
        off = f"±{length(one.tolerance, units)}"
        if one.kind == "sheet thickness":
            words.append(f"measure {one.name.split(':')[0]} ({off})")
        elif one.kind in UNEVEN:
            words.append(f"measure {one.name} ({off})")
        else:
            words.append(f"hold {one.name} to {off}")
    return ", ".join(words) or "nothing to mind"


def _left(worst: float, units: Units) -> str:
    """What the worst case of all deviations leaves."""
    amount = length(abs(worst), units)
    return f"{amount} {'left' if worst >= 0 else 'lacking'} in the worst case"


def _details(report: ToleranceReport, units: Units) -> list[str]:
    lines = [
        f"{share_words(report.passes)} let all leaves in, {share_words(report.passes_level)} even level and straight",
        f"  {report.count} random tables, {_DISTRIBUTIONS[report.distribution]}; 95 % confidence bounds",
    ]
    if report.guides is not None:
        lines.append(f"  All leaves guide themselves in {share_words(report.guides)}.")
    for leaf in report.leaves:
        lines += ["", *_leaf_lines(leaf, units)]
    if report.cover is not None:
        lines += ["", *_cover_lines(report.cover, units), ""]
    return lines


def _leaf_lines(leaf: LeafTolerance, units: Units) -> list[str]:
    lines = [f"{leaf.leaf}: goes in in {share_words(leaf.passes)}"]
    for row, view in ((leaf.side, "from the side"), (leaf.plan, "from above")):
        if row.governing is None or row.likeliest is None:
            lines.append(f"  {view}: nothing holds it")
            continue
        held = ", ".join(f"{one.part} at {format_size(one.x, units)}" for one in row.held_by)
        lines += [
            f"  {view}: margin {length(row.nominal, units)} as drawn, {length(row.governing.worst, units)} in the"
            f" worst case, held by {held}; level and straight {length(row.level_worst, units)} at worst",
            *(_effect_line(one, units) for one in row.governing.effects[:_SHOWN]),
            f"     by root sum square {length(row.likeliest.rss, units)}, Cpk {row.likeliest.cpk:.2f}:"
            f" {capability_word(row.likeliest.cpk)} (were all independent and normal, 3 sigma)",
        ]
    lines.append(f"  {thickness_clause(leaf, units)}")
    return lines


def _effect_line(one: Effect, units: Units) -> str:
    return (
        f"     {format_number(one.amount, units):>7} {units}  {100 * one.of_worst:3.0f} % of the worst case,"
        f" {100 * one.of_variance:3.0f} % of the variance: {one.name}, ±{length(one.tolerance, units)}"
    )


def _cover_lines(cover: CoverTolerance, units: Units) -> list[str]:
    lines = [f"Cover: the leaves lie in the well in {share_words(cover.fits)}"]
    for gap in cover.gaps:
        own = gap.sum
        lines.append(
            f"  {gap.name}: {length(own.nominal, units)} as drawn, {length(own.worst, units)} in the worst case,"
            f" {length(own.rss, units)} by root sum square (Cpk {own.cpk:.2f})"
        )
        lines += [_effect_line(one, units) for one in own.effects[:_SHOWN]]
    return lines
