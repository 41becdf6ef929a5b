"""`slide` on the command line: bare rows in, verdicts out, and whole tables."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import Polygon, box

from addon.check.prepared import prepare
from addon.check.row.bare import read_rows
from addon.check.slide.proof import prove_leaves
from addon.command_line import main
from addon.designs.table import build
from addon.designs.table.design import study
from addon.files.editing import set_values
from addon.files.table_file import read_table
from addon.reports.slide import study_text
from addon.sizes.errors import RowError
from addon.sizes.units import format_amount
from tests.old_tables import EXAMPLES

pytestmark = pytest.mark.usefixtures("worked_out_once")
SHIPPED = Path(__file__).parents[1] / "addon" / "examples" / "quilting-table.toml"


def row(**changes: Any) -> dict[str, Any]:
    """A leaf 18 thick, openings 18.5 high in boards 18 thick, 364 between the boards."""
    plain = {"board": 18, "sill": 0, "head": 18.5, "entry": [0, 0], "exit": [0, 0]}
    whole = {
        "leaf": {"length": 900, "thickness": 18},
        "openings": [{"face": 0, **plain}, {"face": 382, **plain}],
        "travel": 900,
    }
    return {**whole, **changes}


def slide(capsys: pytest.CaptureFixture[str], tmp_path: Path, data: Any) -> tuple[int, Any]:
    path = tmp_path / "row.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    status = main(["slide", str(path), "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_nose_between_two_boards(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The tilt that a channel allows is arccos(t / sqrt(h² + b²)) - arctan(b / h), from its support function."""
    status, document = slide(capsys, tmp_path, row())
    tilt = math.acos(18 / math.hypot(18.5, 18)) - math.atan2(18, 18.5)
    first, second = document["openings"]
    assert status == 0
    assert document["verdict"] == "needs-steering"
    assert document["fit_margin_mm"] == pytest.approx(0.25, abs=1e-9)
    assert {key: first[key] for key in ("nose_low", "nose_high", "catch_low", "catch_high", "margin_mm")} == (
        dict.fromkeys(("nose_low", "nose_high", "catch_low", "catch_high", "margin_mm"))
    )
    assert second["nose_low"] == pytest.approx(-364 * math.tan(tilt), abs=1e-6)
    assert second["nose_high"] == pytest.approx(18.5 + 364 * math.tan(tilt) - 18 / math.cos(tilt), abs=1e-6)
    assert (second["catch_low"], second["catch_high"]) == (0, 18.5)
    assert second["margin_mm"] == pytest.approx(second["nose_low"], abs=1e-6)
    assert document["counterexample"]["tilt_rad"] == pytest.approx(-tilt, abs=1e-9)
    assert document["counterexample"]["travel"] == 382


def test_edges_may_have_their_older_names(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = json.dumps(row())
    older = json.loads(text.replace('"sill"', '"bottom"').replace('"head"', '"top"'))
    assert older != json.loads(text)
    assert slide(capsys, tmp_path, older) == slide(capsys, tmp_path, row())


def test_counterexample_hits_the_board_and_nothing_before(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Polygons of the pose, intersected by shapely."""
    _, document = slide(capsys, tmp_path, row())
    pose = document["counterexample"]

    def leaf(further: float) -> Polygon:
        along, across = (math.cos(pose["tilt_rad"]), math.sin(pose["tilt_rad"])), 18
        x, z = pose["travel"] + further * along[0], pose["height"] + further * along[1]
        rear = (x - 900 * along[0], z - 900 * along[1])
        up = (-across * along[1], across * along[0])
        return Polygon([rear, (x, z), (x + up[0], z + up[1]), (rear[0] + up[0], rear[1] + up[1])])

    def wood(face: float) -> list[Polygon]:
        return [box(face, -500, face + 18, 0), box(face, 18.5, face + 18, 500)]

    assert all(leaf(-1).intersection(one).area < 1e-6 for one in [*wood(0), *wood(382)])
    assert any(leaf(1).intersection(one).area > 1 for one in wood(382))


def test_a_list_gives_a_list(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    openings = row()["openings"]
    low = [openings[0], {**openings[1], "sill": 5, "head": 23.5}, {**openings[1], "face": 700}]
    status, documents = slide(capsys, tmp_path, [row(), row(openings=low)])
    assert [one["verdict"] for one in documents] == ["needs-steering", "does-not-pass"]
    assert documents[1]["fit_margin_mm"] < 0
    assert documents[1]["counterexample"] is None
    assert len(documents[1]["edges"]) == 3
    assert status == 1


def test_order_of_openings_does_not_matter(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    _, document = slide(capsys, tmp_path, row())
    _, turned = slide(capsys, tmp_path, row(openings=row()["openings"][::-1]))
    assert turned["openings"] == document["openings"][::-1]
    assert turned["fit_margin_mm"] == document["fit_margin_mm"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"travel": "far"}, "travel has to be a number"),
        ({"travel": -1}, "travel = -1 mm ends before the first opening"),
        ({"openings": []}, "openings has to be a list"),
        ({"leaf": {"length": 900}}, "lacks thickness"),
        ({"leaf": {"length": 900, "thickness": -3}}, "thickness = -3 mm has to be more than 0"),
        ({"leaf": {"length": 900, "thickness": float("nan")}}, "thickness has to be a number"),
        ({"sheet": 1}, 'unknown key "sheet"'),
        ({"leaf": {"length": 900, "thickness": 18, "lead_edge": {"run": 4, "rise": 10}}}, "takes away more"),
        (
            {"openings": [{"face": 0, "board": 18, "sill": 2, "bottom": 2, "head": 20}]},
            "sill and bottom, which are one",
        ),
        ({"openings": [{"face": 0, "board": 18, "sill": 2, "head": 1}]}, "nothing can pass"),
        ({"openings": [{"face": 0, "board": 18, "sill": 0, "head": 20, "entry": [0, 2]}]}, "over no run"),
        ({"openings": [{"face": 0, "board": 4, "sill": 0, "head": 20, "entry": [3, 3], "exit": [3, 3]}]}, "longer"),
    ],
)  # fmt: skip
def test_bad_rows_are_refused_in_one_sentence(change: dict[str, Any], words: str) -> None:
    with pytest.raises(RowError, match=words):
        read_rows(json.dumps(row(**change)), "row.json")


def old_table(folder: Path, example: str) -> Path:
    """A file of a table that needs steering: an example as it was first worked out."""
    path = folder / "table.toml"
    path.write_text(EXAMPLES[example].text(), encoding="utf-8")
    return path


@pytest.mark.parametrize("example", ["quilting", "seed-bench"])
def test_tables(capsys: pytest.CaptureFixture[str], tmp_path: Path, example: str) -> None:
    path = old_table(tmp_path, example)
    status = main(["slide", str(path), "--json"])
    document = json.loads(capsys.readouterr().out)
    assert status == 0
    assert document["leaves"]
    assert {leaf["verdict"] for leaf in document["leaves"]} == {"needs-steering"}
    for leaf in document["leaves"]:
        for view in ("side", "plan"):
            assert len(leaf[view]["openings"]) == len(leaf[view]["openings_of"])
    (note,) = (finding for finding in document["findings"] if finding["rule"] == "leaf-steer")
    told = {place["leaf"] for place in note["places"]}
    assert told == {one["leaf"] for one in document["leaves"]}
    main(["slide", str(path), "--details"])
    assert "keep the outer end between" in capsys.readouterr().out


def test_pictures_are_written_for_every_leaf_and_view(tmp_path: Path) -> None:
    path = old_table(tmp_path, "seed-bench")
    assert main(["slide", str(path), "--pictures", str(tmp_path / "pictures")]) == 0
    names = sorted(file.name for file in (tmp_path / "pictures").iterdir())
    assert names == [
        f"{leaf}-{view}.{kind}"
        for leaf in ("L1", "L2")
        for view in ("plan", "side")
        for kind in ("png", "svg")
    ]
    assert (tmp_path / "pictures" / "L1-side.png").read_bytes().startswith(b"\x89PNG")
    text = (tmp_path / "pictures" / "L1-side.svg").read_text(encoding="utf-8")
    assert "needs steering" in text
    assert "R5" in text
    leaf = prove_leaves(prepare(build(read_table(path))))[0]
    for view in leaf.views:
        margins = [
            proved.margin for proved in view.proof.openings if proved.margin is not None and proved.margin < 0
        ]
        words = format_amount(-min(margins), "in")
        for other in leaf.views:
            drawn = (tmp_path / "pictures" / f"L1-{other.of.view}.svg").read_text(encoding="utf-8")
            assert (words in drawn) == (other is view)


@pytest.mark.parametrize("subcommand", ["slide", "tolerance"])
@pytest.mark.parametrize(("kind", "start"), [("svg", b"<?xml"), ("pdf", b"%PDF-"), ("png", b"\x89PNG")])
def test_pictures_are_of_the_kind_that_is_asked_for(
    tmp_path: Path, subcommand: str, kind: str, start: bytes
) -> None:
    """As `steps` has it; the first bytes are those of XML, PDF (ISO 32000-1, 7.5.2) and PNG (W3C, 5.2)."""
    path, folder = tmp_path / "table.toml", tmp_path / "pictures"
    main(["new", str(path), "--example", "seed-bench"])
    main([subcommand, str(path), "--pictures", str(folder), "--format", kind])
    files = list(folder.iterdir())
    assert files
    assert {file.suffix for file in files} == {f".{kind}"}
    assert all(file.read_bytes().startswith(start) for file in files)


def test_pictures_of_bare_rows_are_of_the_kind_that_is_asked_for(tmp_path: Path) -> None:
    path, folder = tmp_path / "row.json", tmp_path / "pictures"
    path.write_text(json.dumps(row()), encoding="utf-8")
    main(["slide", str(path), "--pictures", str(folder), "--format", "pdf"])
    assert [file.name for file in folder.iterdir()] == ["row-1.pdf"]


def test_pictures_into_a_file_are_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "row.json"
    path.write_text(json.dumps(row()), encoding="utf-8")
    assert main(["slide", str(path), "--pictures", str(path)]) == 2
    assert "it is no folder; name another" in capsys.readouterr().err


def test_what_stops_a_leaf_is_said_with_what_to_do() -> None:
    """Legs 330 mm wide and their blocks stand in the ways of all leaves; R6 with its window 3 mm high in L1's alone."""
    legs = said_of({"legs.width": 330.0})
    assert legs[1] == "L1: does not pass, LEG2 and LEG6 in its way."
    assert legs[4] == "L4: does not pass, BLK1, LEG1 and BOLT1 in its way."
    assert legs[5].startswith("LEG7 is in the way of fingers below the finger hole of L3")
    assert legs[6].startswith("Remedy: Make the legs ")
    assert (
        sum("does not pass" in line for line in legs) == 5
    )  # the table and each leaf: no cause is told twice
    high = {"as_cut[0].part": "R6", "as_cut[0].dimension": "window_sill", "as_cut[0].deviation": 3.0}
    rib = said_of({**high, "as_cut[0].leaf": "L1"})
    assert rib[1].endswith(", R6 in its way.")
    assert rib[2].startswith("L2: guides itself")
    assert "Remedy: Widen the window of L1 in R6 by 2 mm at its lower edge, glued or not." in rib


def said_of(changes: dict[str, object]) -> list[str]:
    table = set_values(read_table(SHIPPED), changes)
    return study_text(study(table, prepare(build(table)))).splitlines()
