"""What cannot be built is refused with the nearest value that can: typed in, it is not refused again."""

from __future__ import annotations

import re
from dataclasses import replace
from random import Random

import pytest

from addon.designs.table import build
from addon.designs.table.parameters import SECTIONS, Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.sizes.declare import parameters
from addon.sizes.errors import DryAssemblyError, ParameterError
from tests.large import sampled

LENGTHS = [
    (f"{section}.{one.name}", one.low or 0.0, one.high)
    for section, record in SECTIONS.items()
    for one in parameters(record)
    if one.kind == "length" and one.high is not None and section not in ("limits", "tolerances")
]

SAYS = re.compile(r"(at most|at least|more than|less than|between) (-?[\d.]+) mm(?: and (-?[\d.]+) mm)?")


def refused(table: Table, key: str, value: object) -> ParameterError | None:
    """What `build` says to a value."""
    try:
        build(set_values(table, {key: value}))
    except ParameterError as error:
        return error
    except DryAssemblyError:
        return None
    return None


def nearest(allowed: str) -> list[float]:
    """The values at the ends of what is allowed, a hair inside where the end itself is not."""
    found = SAYS.search(allowed)
    if found is None:
        return []
    word, *ends = found.groups()
    values = [float(end) for end in ends if end is not None]
    return [value + {"more than": 0.1, "less than": -0.1}.get(word, 0.0) for value in values]


def test_the_value_that_is_said_can_be_built() -> None:
    random, tried = Random(5), 0
    for _ in range(sampled(250, 4000)):
        table = replace(EXAMPLES[random.choice(["quilting", "seed-bench"])].table(), units="mm")
        key, low, high = random.choice(LENGTHS)
        error = refused(table, key, random.choice([low, high, random.uniform(low, high)]))
        if error is None or error.key != key:
            continue
        for value in nearest(error.allowed):
            assert value >= 0, str(error)
            again = refused(table, key, value)
            assert again is None or again.reason != error.reason, (str(error), str(again))
            tried += 1
    assert tried > 10


@pytest.mark.parametrize(("measured", "key"), [(5.0, "sides.stock"), (7.0, "bottom.groove_depth")])
def test_sides_too_thin_for_any_groove(measured: float, key: str) -> None:
    """A groove is at least 2 deep and leaves 4: of 5 nothing can be said but a thicker sheet; of 7 it may be 3 deep."""
    eased = ("sides.slot_chamfer", "sides.lower_round_over", "ribs.window_chamfer", "leaves.edge_radius")
    table = set_values(
        EXAMPLES["quilting"].table(), {"stock[0].measured": measured, **dict.fromkeys(eased, 1.0)}
    )
    with pytest.raises(ParameterError) as caught:
        build(table)
    assert caught.value.key == key
    assert "-" not in caught.value.allowed.replace("[[stow]]", "")
