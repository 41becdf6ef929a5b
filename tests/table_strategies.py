"""Random valid tables for property tests, drawn from the declarations of the parameters."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from addon.designs.table.parameters import LISTS, SECTIONS, AsCut, Table
from addon.sizes.declare import Parameter, parameters
from addon.wood.stock import Stock

texts = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=20).filter(
    lambda text: text.strip() != ""
)


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths in mm: any, round ones in mm, and 64ths of an inch."""
    any_length = st.floats(low, high).map(lambda value: value + 0.0)
    tenths = st.integers(int(low * 10), int(high * 10)).map(lambda count: count / 10)
    parts = st.integers(int(low / 25.4 * 64), int(high / 25.4 * 64)).map(lambda count: count * 25.4 / 64)
    within = (tenths | parts).filter(lambda value: low <= value <= high)
    return any_length | within


def values(parameter: Parameter) -> st.SearchStrategy[Any]:
    """Values that a parameter allows, as the model holds them."""
    if parameter.kind in ("length", "lengths"):
        assert parameter.low is not None
        assert parameter.high is not None
        one = lengths(parameter.low, parameter.high)
        if parameter.kind == "lengths":
            return st.none() | st.lists(one, max_size=4).map(tuple)
        return st.none() | one if parameter.optional else one
    if parameter.kind == "number":
        numbers = st.floats(parameter.low, parameter.high)
        return st.none() | numbers if parameter.optional else numbers
    if parameter.kind == "count":
        return st.integers(int(parameter.low or 0), int(parameter.high or 0))
    if parameter.kind == "flag":
        return st.booleans()
    if parameter.kind == "choice":
        words = st.sampled_from([word for word, _ in parameter.choices])
        return st.none() | words if parameter.optional else words
    return st.none() | texts if parameter.optional else texts


def entries(kind: type) -> st.SearchStrategy[Any]:
    """Sections or entries of one kind."""
    return st.builds(kind, **{parameter.name: values(parameter) for parameter in parameters(kind)})


def measured_parts() -> st.SearchStrategy[AsCut]:
    """Entries of parts as cut: one size each, or a part that is missing."""
    names = ("value", "deviation", "degrees")
    found = {parameter.name: parameter for parameter in parameters(AsCut)}
    sizes = st.sampled_from(names).flatmap(
        lambda name: values(found[name]).filter(lambda size: size is not None).map(lambda size: {name: size})
    )
    cut = st.builds(
        lambda size, **rest: AsCut(**rest, **size),
        sizes,
        **{name: values(found[name]) for name in ("part", "dimension", "end", "leaf")},
    )
    return cut | st.builds(AsCut, part=texts, missing=st.just(True))


@st.composite
def tables(draw: st.DrawFn, units: str | None = None) -> Table:
    """Tables that a file may hold, not all of which can be built."""
    stocks = draw(
        st.lists(
            entries(Stock).filter(lambda stock: stock.thickness > 0),
            min_size=1,
            max_size=3,
            unique_by=lambda stock: stock.name,
        )
    )
    names = st.sampled_from([stock.name for stock in stocks])
    sections = {}
    for section, kind in SECTIONS.items():
        drawn = {
            parameter.name: names if parameter.name.endswith("stock") else values(parameter)
            for parameter in parameters(kind)
        }
        sections[section] = draw(st.builds(kind, **drawn))
    return Table(
        name=draw(texts),
        units=units or draw(st.sampled_from(["mm", "in"])),
        stock=tuple(stocks),
        stow=tuple(draw(st.lists(entries(LISTS["stow"]), max_size=3))),
        as_cut=tuple(draw(st.lists(measured_parts(), max_size=2))),
        **sections,
    )
