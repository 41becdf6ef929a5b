"""Every part for other programs: closed meshes (STL, GLB) and the convex pieces and stow paths (JSON)."""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..sizes.arrays import Floats, Ints
from ..wood.assembly import Assembly, StowPath
from ..wood.dimensions import dimensions_of
from ..wood.fasteners import Fastener, mesh_of_body
from ..wood.joints import Joint
from ..wood.part import Part
from ..wood.solids.pieces import Pieces
from ..wood.solids.solids import placed
from .saving import document_text, plain, whole_folder, write

MM_PER_METER = 1000.0


def export(assembly: Assembly, folder: Path) -> dict[str, Any]:
    """Write one STL a part, `assembly.glb` and `assembly.json` into a folder; leaves stand stowed.

    A folder that an export made is replaced whole.

    Returns
    -------
    the document of `assembly.json`

    Raises
    ------
    ExportError : where the folder cannot be written, or holds other files too; it is as it was
    """
    with whole_folder(folder, _exported) as scratch:
        return _write_all(assembly, scratch)


def _exported(folder: Path) -> set[str]:
    """Names in a folder that are of an export, as its own `assembly.json` tells."""
    try:
        document = json.loads((folder / "assembly.json").read_bytes())
        bodies = [*document["parts"], *document.get("fasteners", ())]
        return {"assembly.json", "assembly.glb", *(str(one["mesh"]) for one in bodies)}
    except (OSError, ValueError, LookupError, TypeError):
        return set()


def _write_all(assembly: Assembly, folder: Path) -> dict[str, Any]:
    meshes = {}
    for body in assembly.bodies:
        mesh = mesh_of_body(body)
        meshes[body.label] = (body.placement.to_table(mesh.vertices), mesh.triangles)
        write(folder / f"{body.label}.stl", stl_text(body.label, *meshes[body.label]).encode("ascii"))
    write(folder / "assembly.glb", glb_bytes(assembly, meshes))
    document = assembly_document(assembly)
    write(folder / "assembly.json", document_text(document).encode())
    return document


def assembly_document(assembly: Assembly) -> dict[str, Any]:
    """The assembly as plain data for JSON: lengths in mm, table coordinates, leaves stowed."""
    pieces = placed(assembly.parts).of_all()
    return plain(
        {
            "units": "mm",
            "name": assembly.name,
            "parts": [_part(part, its) for part, its in zip(assembly.parts, pieces, strict=True)],
            "fasteners": [_fastener(one) for one in assembly.fasteners],
            "joints": [_joint(assembly, joint) for joint in assembly.joints],
            "stow_paths": [_path(path) for path in assembly.stow_paths],
        }
    )


def _part(part: Part, pieces: Pieces) -> dict[str, Any]:
    return {
        "label": part.label,
        "name": part.name,
        "role": part.role.word,
        "stock": part.stock.name,
        "features": [_feature(part, number) for number in range(len(part.shape.features))],
        "dimensions": _dimensions(part, None),
        "mesh": f"{part.label}.stl",
        "pieces": [pieces.piece(i) for i in range(len(pieces))],
    }


def _feature(part: Part, number: int) -> dict[str, Any]:
    """One cut: what it is, where it is, what cuts it and its dimensions; places in the part's own frame, mm."""
    feature, blank = part.shape.features[number], part.shape.blank
    low, high = feature.bounds(blank)
    edge, tool = feature.reference_edge, feature.tool
    return {
        "feature": feature.word,
        "faces": list(feature.faces),
        "edge": None if edge is None else blank.edge_words(edge),
        "tool": None if tool is None else tool._asdict(),
        "bounds": [list(low), list(high)],
        "dimensions": _dimensions(part, number),
    }


def _dimensions(part: Part, number: int | None) -> dict[str, float]:
    """Of one feature, or of the board itself: lengths in mm, angles in degrees."""
    return {one.name: one.value for one in dimensions_of(part) if one.number == number}


def _fastener(one: Fastener) -> dict[str, Any]:
    pieces = one.pieces
    return {
        "label": one.label,
        "kind": one.kind,
        "joins": list(one.joins),
        "start": one.start,
        "direction": one.direction,
        "length": one.sizes.length,
        "shank_diameter": one.sizes.shank,
        "head_diameter": one.sizes.head,
        "head_height": one.sizes.head_height,
        "nut_diameter": one.sizes.nut,
        "nut_height": one.sizes.nut_height,
        "mesh": f"{one.label}.stl",
        "pieces": [pieces.piece(i) for i in range(len(pieces))],
    }


def _joint(assembly: Assembly, joint: Joint) -> dict[str, Any]:
    faces = joint.faces_of(assembly.by_label[joint.a], assembly.by_label[joint.b])
    return {
        "a": joint.a,
        "b": joint.b,
        "kind": joint.kind,
        "part_end": joint.part_end,
        "faces": None if faces is None else list(faces),
        "fastening": joint.fastening,
    }


def _path(path: StowPath) -> dict[str, Any]:
    moves = [{"from": move.start, "to": move.end} for move in path.moves]
    return {"leaf": path.leaf, "side": path.side, "end_stop": path.end_stop, "moves": moves}


def stl_text(name: str, vertices: Floats, triangles: Ints) -> str:
    """An ASCII STL, which unlike the binary kind keeps all digits of float64.

    Parameters
    ----------
    vertices, triangles : (n, 3) float, mm, and (m, 3) int
    """
    corners = vertices[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    facet = (
        "facet normal %r %r %r\n outer loop\n  vertex %r %r %r\n  vertex %r %r %r\n  vertex %r %r %r\n"
        " endloop\nendfacet\n"
    )
    rows = np.concatenate([normals, corners.reshape(-1, 9)], axis=1) + 0.0
    return f"solid {name}\n" + "".join(facet % tuple(row) for row in rows.tolist()) + f"endsolid {name}\n"


def glb_bytes(assembly: Assembly, meshes: dict[str, tuple[Floats, Ints]]) -> bytes:
    """A binary glTF 2.0 of all parts, one node each, in meters and with y up as the format says (ISO/IEC 12113)."""
    chunks: list[bytes] = []
    document: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "Dry Assembly"},
        "scene": 0,
        "scenes": [{"name": assembly.name, "nodes": list(range(len(meshes)))}],
        "nodes": [], "meshes": [], "accessors": [], "bufferViews": [],
        "materials": [{"name": "wood", "pbrMetallicRoughness": {"baseColorFactor": [0.80, 0.66, 0.45, 1.0],
                                                              "metallicFactor": 0.0, "roughnessFactor": 0.7}}],
    }  # fmt: skip
    for number, (label, (vertices, triangles)) in enumerate(meshes.items()):
        corners = vertices[triangles].reshape(-1, 3)
        upright = np.stack([corners[:, 0], corners[:, 2], -corners[:, 1]], axis=1) / MM_PER_METER
        flat = upright.reshape(-1, 3, 3)
        normals = np.cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0])
        normals = np.repeat(normals / np.linalg.norm(normals, axis=1, keepdims=True), 3, axis=0)
        position = _accessor(document, chunks, upright.astype("<f4"), bounds=True)
        normal = _accessor(document, chunks, normals.astype("<f4"))
        document["meshes"].append(
            {
                "name": label,
                "primitives": [{"attributes": {"POSITION": position, "NORMAL": normal}, "material": 0}],
            }
        )
        document["nodes"].append({"name": label, "mesh": number})
    body = b"".join(chunks)
    document["buffers"] = [{"byteLength": len(body)}]
    text = json.dumps(document, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    header = struct.pack("<4sII", b"glTF", 2, 12 + 8 + len(text) + 8 + len(body))
    return (
        header
        + struct.pack("<I4s", len(text), b"JSON")
        + text
        + struct.pack("<I4s", len(body), b"BIN\0")
        + body
    )


def _accessor(
    document: dict[str, Any], chunks: list[bytes], values: NDArray[np.float32], bounds: bool = False
) -> int:
    """Add (n, 3) float32 values to the buffer; returns the accessor's number."""
    data = values.tobytes()
    document["bufferViews"].append(
        {"buffer": 0, "byteOffset": sum(map(len, chunks)), "byteLength": len(data), "target": 34962}
    )
    chunks.append(data)
    accessor: dict[str, Any] = {
        "bufferView": len(chunks) - 1, "componentType": 5126, "count": len(values), "type": "VEC3"
    }  # fmt: skip
    if bounds:
        accessor |= {"min": values.min(axis=0).tolist(), "max": values.max(axis=0).tolist()}
    document["accessors"].append(accessor)
    return len(document["accessors"]) - 1
