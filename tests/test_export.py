"""Exports read back by other programs' means: STL and GLB parsed anew, pieces and meshes compared by manifold3d."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import manifold3d
import numpy as np
import pytest

from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.files.export import export
from addon.sizes.errors import ExportError


@pytest.fixture(scope="module", params=["quilting", "seed-bench"])
def exported(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict]:
    folder = tmp_path_factory.mktemp(request.param)
    export(build(EXAMPLES[request.param].table()), folder)
    return folder, json.loads((folder / "assembly.json").read_text(encoding="utf-8"))


def stl_triangles(path: Path) -> np.ndarray:
    """(m, 3, 3) corners and nothing else: the STL format keeps no shared vertices."""
    rows = [line.split()[1:] for line in path.read_text(encoding="ascii").splitlines() if "vertex" in line]
    return np.array(rows, dtype=float).reshape(-1, 3, 3)


def solid(triangles: np.ndarray) -> manifold3d.Manifold:
    vertices, numbers = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    mesh = manifold3d.Mesh64(vertices, numbers.reshape(-1, 3).astype(np.uint64))
    return manifold3d.Manifold(mesh)


def test_every_mesh_is_closed_and_equals_its_pieces(exported: tuple[Path, dict]) -> None:
    folder, document = exported
    assert document["units"] == "mm"
    for part in document["parts"]:
        mesh = solid(stl_triangles(folder / part["mesh"]))
        assert mesh.status() == manifold3d.Error.NoError, part["label"]
        hulls = [manifold3d.Manifold.hull_points(np.array(piece)) for piece in part["pieces"]]
        union = manifold3d.Manifold.batch_boolean(hulls, manifold3d.OpType.Add)
        difference = (mesh - union).volume() + (union - mesh).volume()
        assert abs(difference) < 1e-9 * mesh.volume(), part["label"]


def test_parts_say_what_is_cut_into_them(tmp_path: Path) -> None:
    """By hand, from the quilting table's parameters: a leaf's finger hole, a side's slot.

    A leaf is 960 mm less two sides of 17.7 mm and two gaps of 1.5 mm long; its slot is 17.7 mm and twice 1.5 mm high.
    """
    parts = export(build(EXAMPLES["quilting"].table()), tmp_path)["parts"]
    by_label = {part["label"]: part for part in parts}
    hole = next(one for one in by_label["L1"]["features"] if one["feature"] == "hole")
    assert hole["tool"] == {"name": "drill bit", "diameter": 25.0, "angle": None}
    assert hole["dimensions"]["hole_diameter"] == 25.0
    low, high = np.array(hole["bounds"])
    np.testing.assert_allclose(high - low, [25.0, 25.0, 17.7])
    assert by_label["L1"]["dimensions"] == pytest.approx({"length": 921.6, "width": 364.9, "thickness": 17.7})
    slot = next(one for one in by_label["S1"]["features"] if one["feature"] == "slot for L1")
    assert slot["faces"] == ["front", "back"]
    assert slot["dimensions"]["slot_height"] == pytest.approx(20.7)
    edges = {one["edge"] for one in by_label["L1"]["features"] if one["feature"] == "round-over"}
    assert edges <= {"start", "end", "lower edge", "upper edge"}


def test_stow_paths_run_from_outside_to_home(exported: tuple[Path, dict]) -> None:
    _, document = exported
    pieces = {
        part["label"]: np.concatenate([np.array(p) for p in part["pieces"]]) for part in document["parts"]
    }
    body = np.concatenate([pieces[part["label"]] for part in document["parts"] if part["role"] == "side"])
    for path in document["stow_paths"]:
        ends = [move["to"] for move in path["moves"]]
        assert ends[-1] == [0, 0, 0]
        for before, after in zip(path["moves"], path["moves"][1:], strict=False):
            assert before["to"] == after["from"]
        outside = pieces[path["leaf"]] + path["moves"][0]["from"]
        apart = (outside.min(axis=0) > body.max(axis=0)) | (outside.max(axis=0) < body.min(axis=0))
        assert apart.any()


def test_glb_is_the_same_in_meters_with_y_up(exported: tuple[Path, dict]) -> None:
    folder, document = exported
    data = (folder / "assembly.glb").read_bytes()
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    text_length, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON"
    gltf = json.loads(data[20 : 20 + text_length])
    start = 20 + text_length + 8
    bodies = (*document["parts"], *document["fasteners"])
    assert [node["name"] for node in gltf["nodes"]] == [body["label"] for body in bodies]
    for node in gltf["nodes"]:
        accessor = gltf["accessors"][gltf["meshes"][node["mesh"]]["primitives"][0]["attributes"]["POSITION"]]
        view = gltf["bufferViews"][accessor["bufferView"]]
        points = np.frombuffer(data, "<f4", accessor["count"] * 3, start + view["byteOffset"]).reshape(-1, 3)
        in_mm = np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=1) * 1000.0
        triangles = stl_triangles(folder / f"{node['name']}.stl").reshape(-1, 3)
        np.testing.assert_allclose(in_mm, triangles, atol=1e-3)
        np.testing.assert_array_equal(accessor["min"], points.min(axis=0))
        np.testing.assert_array_equal(accessor["max"], points.max(axis=0))


def glb_triangles(path: Path) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Name of each node → corners, (m, 3, 3) in meters, and their stored normals, (m, 3, 3), parsed from the binary.

    By the layout in the glTF 2.0 specification (Khronos; ISO/IEC 12113): a header of three words of 4 bytes (magic,
    version, length), then chunks of length, type and data, all little-endian (4.4); accessors of component type 5126
    are 4-byte floats, VEC3 three of them (3.6.2.2), at the byte offsets of accessor and view.
    """
    data = path.read_bytes()
    chunks, at = {}, 12
    while at < len(data):
        length, kind = struct.unpack_from("<I4s", data, at)
        chunks[kind] = data[at + 8 : at + 8 + length]
        at += 8 + length
    gltf, binary = json.loads(chunks[b"JSON"]), chunks[b"BIN\0"]

    def values(number: int) -> np.ndarray:
        accessor = gltf["accessors"][number]
        assert (accessor["componentType"], accessor["type"]) == (5126, "VEC3")
        view = gltf["bufferViews"][accessor["bufferView"]]
        start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        return np.frombuffer(binary, "<f4", 3 * accessor["count"], start).reshape(-1, 3, 3).astype(float)

    found = {}
    for node in gltf["nodes"]:
        assert node.keys() <= {"name", "mesh"}, (
            "no transform: counter-clockwise corners face the viewer (3.7.2.1)"
        )
        (primitive,) = gltf["meshes"][node["mesh"]]["primitives"]
        assert primitive.get("mode", 4) == 4, "triangles (3.7.2.1)"
        assert "indices" not in primitive
        attributes = primitive["attributes"]
        found[node["name"]] = values(attributes["POSITION"]), values(attributes["NORMAL"])
    return found


def test_glb_normals_are_unit_vectors_that_point_outward(exported: tuple[Path, dict]) -> None:
    """By the divergence theorem the volume is a third of the sum of area · (point · outward normal): turned inside
    out, it is negative. So it is for the stored normals, and for those that the order of the corners makes."""
    folder, _ = exported
    for label, (corners, normals) in glb_triangles(folder / "assembly.glb").items():
        np.testing.assert_allclose(np.linalg.norm(normals, axis=2), 1.0, atol=1e-6)
        twice_area = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        areas = np.linalg.norm(twice_area, axis=1) / 2
        stored = (areas[:, None] * (corners * normals).sum(axis=2)).sum() / 9
        by_order = (corners[:, 0] * twice_area).sum() / 6
        volume = solid(stl_triangles(folder / f"{label}.stl")).volume() / 1000.0**3
        assert volume > 0
        assert stored == pytest.approx(volume, rel=1e-3), label
        assert by_order == pytest.approx(volume, rel=1e-3), label


def test_glb_normals_of_a_plain_board_by_hand(tmp_path: Path) -> None:
    """The front ledger strip of the quilting table, 1464.6 by 17.7 by 30 mm, with its middle at x 0, y -453.45 and
    z 737.3: meters and y up make that (0, 0.7373, 0.45345). From there every face's normal points away."""
    export(build(EXAMPLES["quilting"].table()), tmp_path)
    corners, normals = glb_triangles(tmp_path / "assembly.glb")["LEDG1"]
    middle, half = np.array([0.0, 0.7373, 0.45345]), np.array([0.7323, 0.015, 0.00885])
    faces = set()
    for triangle, three in zip(corners, normals, strict=True):
        assert (three == three[0]).all()
        axis = int(np.abs(three[0]).argmax())
        sign = np.sign(three[0, axis])
        np.testing.assert_allclose(three[0], sign * np.eye(3)[axis], atol=1e-6)
        np.testing.assert_allclose(triangle[:, axis], middle[axis] + sign * half[axis], atol=1e-6)
        faces.add((axis, int(sign)))
    assert len(faces) == 6


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(ExportError, match="cannot be written: Not a directory; choose a place"):
        export(build(EXAMPLES["quilting"].table()), tmp_path / "file" / "folder")
