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
    assert [node["name"] for node in gltf["nodes"]] == [part["label"] for part in document["parts"]]
    for node in gltf["nodes"]:
        accessor = gltf["accessors"][gltf["meshes"][node["mesh"]]["primitives"][0]["attributes"]["POSITION"]]
        view = gltf["bufferViews"][accessor["bufferView"]]
        points = np.frombuffer(data, "<f4", accessor["count"] * 3, start + view["byteOffset"]).reshape(-1, 3)
        in_mm = np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=1) * 1000.0
        triangles = stl_triangles(folder / f"{node['name']}.stl").reshape(-1, 3)
        np.testing.assert_allclose(in_mm, triangles, atol=1e-3)
        np.testing.assert_array_equal(accessor["min"], points.min(axis=0))
        np.testing.assert_array_equal(accessor["max"], points.max(axis=0))


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(ExportError, match="name another folder"):
        export(build(EXAMPLES["quilting"].table()), tmp_path / "file" / "folder")
