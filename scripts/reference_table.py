"""Writes the reference's table of parameters from their declarations; with ``--check``, says whether it is of today."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import environment

REFERENCE = Path(environment.ROOT) / "addon" / "reference" / "table-file.md"
BEGIN, END = "<!-- parameters: begin -->\n", "<!-- parameters: end -->"


def main() -> None:
    """Renew the table, or with --check say whether it is out of date (status 1)."""
    environment.enter("light")
    text = REFERENCE.read_text(encoding="utf-8")
    renewed = with_table(text)
    if "--check" in sys.argv[1:]:
        sys.exit(0 if renewed == text else 1)
    REFERENCE.write_text(renewed, encoding="utf-8")


def with_table(text: str) -> str:
    """The reference's text with today's table between its marks."""
    before, rest = text.split(BEGIN)
    after = rest.split(END)[1]
    return before + BEGIN + table() + END + after


def table() -> str:
    """The table in Markdown, one row a parameter."""
    from addon.designs.table.parameters import LISTS, SECTIONS
    from addon.sizes.declare import parameters

    lines = ["| key | default | in an inch table | meaning |", "|---|---|---|---|"]
    for section, kind in SECTIONS.items():
        lines += [row(section, parameter) for parameter in parameters(kind)]
    for section, kind in LISTS.items():
        lines += [row("%s[]" % section, parameter) for parameter in parameters(kind)]
    return "\n".join(lines) + "\n"


def row(section: str, parameter) -> str:  # noqa: ANN001  # bare Python cannot import its type yet
    """One parameter."""
    meaning = parameter.help
    if parameter.choices:
        meaning += ": " + "; ".join("`%s` %s" % pair for pair in parameter.choices)
    if (section, parameter.name) == ("as_cut[]", "dimension"):
        from addon.wood.dimensions import catalog

        meaning += ". A part has some of these: " + "; ".join("`%s` %s" % pair for pair in catalog().items())
    return "| `%s.%s` | %s | %s | %s |" % (
        section,
        parameter.name,
        default(parameter, "mm"),
        default(parameter, "in"),
        meaning,
    )


def default(parameter, units: Literal["mm", "in"]) -> str:  # noqa: ANN001
    """The default in words; in an inch table "" where it is the same."""
    from addon.sizes.quantities import spell_quantity, unit_in
    from addon.sizes.units import format_given

    value = parameter.default_in(units)
    if units == "in" and parameter.inch is None:
        return ""
    if parameter.required:
        return "required"
    if value is None:
        return "left out"
    if isinstance(value, bool):
        return "true" if value else "false"
    if parameter.kind == "length":
        return format_given(value, units)
    if parameter.kind == "number":
        own = unit_in(parameter.unit, units)
        return ("%s %s" % (spell_quantity(value, parameter.unit, units), own)).strip()
    return str(value)


if __name__ == "__main__":
    main()
