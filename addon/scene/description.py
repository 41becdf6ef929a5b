"""What a table is in Blender's terms, as plain arrays: the link between the assembly and Blender (no bpy here).

Blender's unit is the meter, the model's the millimeter; this is where one becomes the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..wood.assembly import Assembly
from ..wood.fasteners import Fastener
from ..wood.meshes.mesh import Mesh, mesh_of
from ..wood.part import Part, Placement, Shape
from ..wood.roles import Role

METERS: Final = 1e-3
"""Meters in a millimeter."""


@dataclass(frozen=True, eq=False)
class MeshData:
    """The surface of a shape, in its part's frame."""

    positions: NDArray[np.float32]
    """(n, 3) float32, m"""
    triangles: NDArray[np.int32]
    """(m, 3) int32, outward by the right-hand rule"""
    topology: str
    """Digest of the triangles: equal for meshes that differ in positions alone."""
    digest: str
    """Digest of the whole mesh."""


@dataclass(frozen=True, eq=False)
class PartObject:
    """One part or fastener as an object."""

    label: str
    name: str
    role: Role
    mesh: MeshData
    matrix: NDArray[np.float64]
    """(4, 4) float, part frame to table frame, m; a leaf's is where it is stowed"""
    cover: NDArray[np.float64] | None = None
    """(4, 4) float, m: where a leaf lies as a cover leaf; None for other parts"""
    across: bool = False
    """Whether the grain runs across the part's length."""
    carrier: Role | None = None
    """Of a fastener, the role of the part that it goes with."""


@dataclass(frozen=True, eq=False)
class TableObjects:
    """One table as objects."""

    name: str
    parts: tuple[PartObject, ...]

    def extent(self) -> NDArray[np.float64]:
        """(2, 3) float, m: least and greatest coordinates of the table with its leaves as the top."""
        corners = []
        for part in self.parts:
            matrix = part.matrix if part.cover is None else part.cover
            corners.append(part.mesh.positions @ matrix[:3, :3].T + matrix[:3, 3])
        points = np.concatenate(corners)
        return np.array([points.min(axis=0), points.max(axis=0)])


def describe(assembly: Assembly) -> TableObjects:
    """The objects of a table."""
    parts = [_describe_part(part, assembly) for part in assembly.parts]
    held = [_describe_fastener(one, assembly) for one in assembly.fasteners]
    return TableObjects(assembly.name, (*parts, *held))


def _describe_part(part: Part, assembly: Assembly) -> PartObject:
    cover = assembly.cover.get(part.label)
    return PartObject(
        label=part.label,
        name=part.name,
        role=part.role,
        mesh=mesh_data(part.shape),
        matrix=matrix_of(part.placement),
        cover=None if cover is None else matrix_of(cover),
        across=part.grain == "v",
    )


def _describe_fastener(one: Fastener, assembly: Assembly) -> PartObject:
    carrier = assembly.by_label.get(one.goes_with)
    return PartObject(
        one.label, one.name, one.role, _as_data(one.mesh), matrix_of(one.placement),
        carrier=carrier.role if carrier else None,
    )  # fmt: skip


@lru_cache(maxsize=4096)
def mesh_data(shape: Shape) -> MeshData:
    """The surface of a shape; equal shapes share it."""
    return _as_data(mesh_of(shape))


def _as_data(mesh: Mesh) -> MeshData:
    positions = np.ascontiguousarray(mesh.vertices * METERS, dtype=np.float32)
    triangles = np.ascontiguousarray(mesh.triangles, dtype=np.int32)
    return MeshData(positions, triangles, *digests(positions, triangles))


def digests(positions: NDArray[np.float32], triangles: NDArray[np.int32]) -> tuple[str, str]:
    """Of a mesh's triangles alone, and of the whole mesh."""
    topology = blake2b(triangles.tobytes(), digest_size=12).hexdigest()
    return topology, blake2b(positions.tobytes(), digest_size=12, key=topology.encode()).hexdigest()


_UNMOVED: Final = np.eye(4)


def matrix_of(placement: Placement) -> NDArray[np.float64]:
    """(4, 4) float: part frame to table frame, in meters."""
    matrix = _UNMOVED.copy()
    matrix[:3, :3] = placement.axes.T
    matrix[:3, 3] = placement.origin * METERS
    return matrix
