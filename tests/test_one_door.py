"""One door: what one subcommand refuses all refuse, and whatever a table is built for, its parts can be cut."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from addon.designs.table import build
from addon.files.table_file import parse_table
from addon.sizes.errors import DryAssemblyError
from addon.wood.meshes.mesh import mesh_of
from addon.wood.solids.solids import placed
from single_deviations import deviations, entry, judged, ran
from tests.command_line_samples import refused
from tests.old_tables import EXAMPLES


@pytest.fixture
def table_file(tmp_path: Path) -> Path:
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    return path


def test_single_deviations_end_in_a_solid_or_in_a_sentence() -> None:
    """Each eighth of all deviations of the shipped table; the mesh's volume is that of a closed surface."""
    text, seen, wrong = EXAMPLES["quilting"].text(), {"made": 0, "refused": 0}, []
    for part, dimension, amount in list(deviations())[::8]:
        try:
            assembly = build(parse_table(text + entry(part, dimension, amount)))
        except DryAssemblyError as error:
            seen["refused"] += 1
            wrong += [] if str(error).endswith(".") and part in str(error) else [str(error)]
            continue
        seen["made"] += 1
        changed = assembly.by_label[part]
        mesh = mesh_of(changed.shape)
        length, width, thickness = changed.shape.size
        wrong += (
            []
            if 0 < mesh.volume <= length * width * thickness * 1.000001
            else [f"{part} {dimension} {amount}"]
        )
        assert len(placed([changed]).together) > 0
    assert wrong == []
    assert min(seen.values()) > 20


@pytest.mark.parametrize(
    ("part", "dimension", "amount"), [("R6", "width", -6), ("R6", "window_height", 6), ("L1", "length", -900)]
)
def test_what_the_check_refuses_every_subcommand_refuses_alike(
    table_file: Path, capsys: pytest.CaptureFixture[str], part: str, dimension: str, amount: float
) -> None:
    with table_file.open("a", encoding="utf-8") as file:
        file.write(entry(part, dimension, amount))
    sentence = refused(capsys, "check", table_file)
    assert sentence.startswith(part) or part in sentence
    folder = table_file.parent
    for name, *options in (
        ("slide",),
        ("tolerance",),
        ("steps", "--pictures", folder / "steps"),
        ("export", "--dir", folder / "parts"),
        ("draw", "--image", folder / "table.svg"),
        ("draw", "--exploded", "--image", folder / "table.svg"),
        ("draw", "--filmstrip", "--image", folder / "table.svg"),
        ("compare", "--variant", "legs.width=70"),
    ):
        assert refused(capsys, name, table_file, *options) == sentence
    assert [path.name for path in folder.iterdir()] == [table_file.name]


def test_a_few_are_exported_and_drawn(table_file: Path) -> None:
    text = table_file.read_text(encoding="utf-8")
    for part, dimension, amount in (("R6", "width", -6), ("R3", "length", 6), ("S1", "slot_height", -2)):
        table_file.write_text(text + entry(part, dimension, amount), encoding="utf-8")
        parts, picture = table_file.with_name("parts"), table_file.with_name("table.svg")
        export = judged(*ran(["export", str(table_file), "--dir", str(parts)]))
        draw = judged(*ran(["draw", str(table_file), "--image", str(picture)]))
        assert export == draw == ("refused" if part == "R6" else "result")


@pytest.mark.parametrize(("gap", "carried"), [(3.0, False), (4.5, False), (30.0, True)])
def test_runners_in_a_bay_shorter_than_two_lead_ins_are_left_out(gap: float, carried: bool) -> None:
    """Lead-ins of 2 at both ends: 3 has no room for them, and 4.5 leaves half a millimeter that carries nothing."""
    table = EXAMPLES["quilting"].table()
    wall = -1500.0 / 2 + 17.7
    ribs = (wall + gap + 17.7 / 2, -139.0, 139.0, 566.0)
    made = build(
        replace(
            table,
            ribs=replace(table.ribs, through_at=ribs, window_chamfer=2.0),
            stowing=replace(table.stowing, runners=True, kickers=True),
        )
    )
    strips = made.with_role("runner", "kicker")
    assert len(strips) > 8
    assert any(strip.shape.size[0] == pytest.approx(gap) for strip in strips) == carried
