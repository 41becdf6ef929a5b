"""Wood, hatching and ink: materials from nodes alone, without image files.

Each has a plain viewport color as well, so that parts can be told apart where no shader runs (Workbench).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import bpy
from bpy.types import Material, Node, NodeSocket, NodeTree

from ..paper.sheet.palette import rgb
from ..wood.roles import Role
from . import ids

Color = tuple[float, float, float]


class Tone(NamedTuple):
    """A wood: the shades between which its grain varies, and its even color on the screen; linear RGB."""

    name: str
    pale: Color
    dark: Color
    screen: Color


BIRCH: Final = Tone("Birch Plywood", (0.66, 0.47, 0.27), (0.43, 0.27, 0.13), (0.80, 0.61, 0.38))
PALE: Final = Tone("Pale Birch Plywood", (0.74, 0.58, 0.38), (0.56, 0.40, 0.23), (0.86, 0.74, 0.54))
HONEY: Final = Tone("Honey Birch Plywood", (0.55, 0.28, 0.095), (0.30, 0.13, 0.04), (0.74, 0.37, 0.11))
SHADED: Final = Tone("Shaded Birch Plywood", (0.56, 0.40, 0.24), (0.38, 0.25, 0.13), (0.60, 0.44, 0.27))
STEEL: Final = Tone("Zinc-Plated Steel", (0.55, 0.56, 0.58), (0.55, 0.56, 0.58), (0.55, 0.56, 0.58))
BROWN: Final = Tone("Brown Birch Plywood", (0.33, 0.19, 0.09), (0.20, 0.10, 0.045), (0.36, 0.20, 0.10))

TONES: Final[dict[str, Tone]] = {
    "birch": BIRCH, "pale": PALE, "honey": HONEY, "shaded": SHADED, "brown": BROWN, "steel": STEEL
}  # fmt: skip
"""Leaves are honey, darker than the body that they slide into; stops and strips are darkest."""

PLY: Final = 0.00136
"""Thickness of one ply, m: 13 plies in 17.7 mm."""


def linear(color: str) -> Color:
    """A color of the palette, linear RGB (IEC 61966-2-1)."""
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in rgb(color)
    )
    return red, green, blue


def tone_of(role: Role) -> Tone:
    """The wood or metal that a role's parts are shown as."""
    return TONES[role.tone]


def material_of(role: Role) -> Material:
    """The material of a role's parts; made once, then the user's to change."""
    tone = tone_of(role)
    found = _find(tone.name)
    if found is not None:
        return found
    metal = role.tone == "steel"
    material = _new(tone.name, tone.screen, roughness=0.35 if metal else 0.55)
    if metal:
        shader = _shader(material)
        shader.inputs["Base Color"].default_value = (*tone.screen, 1.0)
        shader.inputs["Metallic"].default_value = 1.0
    else:
        _wood_nodes(material, tone)
    return material


def plain(name: str, color: Color, glow: bool = False) -> Material:
    """An even color: ink, paper, paint. With `glow` it shows in that color in any light."""
    found = _find(name)
    if found is not None:
        return found
    material = _new(name, color, roughness=1.0)
    shader = _shader(material)
    shader.inputs["Base Color"].default_value = (*color, 1.0)
    if glow:
        shader.inputs["Base Color"].default_value = (0.0, 0.0, 0.0, 1.0)
        shader.inputs["Emission Color"].default_value = (*color, 1.0)
        shader.inputs["Emission Strength"].default_value = 1.0
    return material


def glass(name: str, color: Color, share: float = 0.35) -> Material:
    """A color that covers what lies behind it by a share only."""
    found = _find(name)
    if found is not None:
        return found
    material = plain(name, color, glow=True)
    material.diffuse_color = (*color, share)
    _shader(material).inputs["Alpha"].default_value = share
    material.surface_render_method = "BLENDED"
    return material


def _find(name: str) -> Material | None:
    for item in bpy.data.materials:
        if item.get(ids.MATERIAL) == name:
            return item
    return None


def _new(name: str, color: Color, roughness: float) -> Material:
    material = bpy.data.materials.new(name)
    material[ids.MATERIAL] = name
    material.diffuse_color = (*color, 1.0)
    material.roughness = roughness
    if material.node_tree is None:
        material.use_nodes = True
    _shader(material).inputs["Roughness"].default_value = roughness
    return material


def _tree(material: Material) -> NodeTree:
    assert material.node_tree is not None
    return material.node_tree


def _shader(material: Material) -> Node:
    return next(node for node in _tree(material).nodes if node.type == "BSDF_PRINCIPLED")


def _wood_nodes(material: Material, tone: Tone) -> None:
    """Face grain along the part, ply lines on its edges, a different patch of veneer for each part."""
    tree = _tree(material)
    coordinates = _node(tree, "ShaderNodeTexCoord", -1400, 0)
    along = _grain_coordinates(tree, coordinates.outputs["Object"])
    figure = _noise(tree, along, (0.9, 9.0, 9.0), 3.0, 0.5, -600, 300)
    fiber = _noise(tree, along, (6.0, 420.0, 420.0), 2.0, 0.6, -600, 50)
    grain = _math(tree, "MULTIPLY_ADD", figure, 0.65, -380, 200)
    fine = _math(tree, "MULTIPLY", fiber, 0.35, -380, 20)
    tree.links.new(fine, grain.node.inputs[2])
    face = _ramp(tree, grain, tone, -180, 200)
    edge = _ramp(tree, _plies(tree, coordinates.outputs["Object"]), _softened(tone), -180, -200)
    mix = _node(tree, "ShaderNodeMix", 60, 0)
    mix.data_type = "RGBA"
    tree.links.new(_is_face(tree, coordinates.outputs["Normal"]), mix.inputs[0])
    tree.links.new(edge, mix.inputs[6])
    tree.links.new(face, mix.inputs[7])
    tree.links.new(mix.outputs[2], _shader(material).inputs["Base Color"])


def _softened(tone: Tone) -> Tone:
    """A tone of less contrast, for lines so fine that they would flicker."""
    middle = tuple(0.65 * pale + 0.35 * dark for pale, dark in zip(tone.pale, tone.dark, strict=True))
    return tone._replace(dark=(middle[0], middle[1], middle[2]))


def _grain_coordinates(tree: NodeTree, position: NodeSocket) -> NodeSocket:
    """Position with x along the grain, shifted by a random amount per object."""
    split = _node(tree, "ShaderNodeSeparateXYZ", -1200, 250)
    tree.links.new(position, split.inputs[0])
    turned = _node(tree, "ShaderNodeCombineXYZ", -1020, 320)
    tree.links.new(split.outputs[1], turned.inputs[0])
    tree.links.new(split.outputs[0], turned.inputs[1])
    tree.links.new(split.outputs[2], turned.inputs[2])
    across = _node(tree, "ShaderNodeAttribute", -1200, 500)
    across.attribute_type = "OBJECT"
    across.attribute_name = f'["{ids.GRAIN}"]'
    choose = _node(tree, "ShaderNodeMix", -860, 320)
    choose.data_type = "VECTOR"
    tree.links.new(across.outputs["Fac"], choose.inputs[0])
    tree.links.new(position, choose.inputs[4])
    tree.links.new(turned.outputs[0], choose.inputs[5])
    which = _node(tree, "ShaderNodeObjectInfo", -1020, 80)
    shift = _node(tree, "ShaderNodeVectorMath", -700, 320)
    shift.operation = "MULTIPLY_ADD"
    shift.inputs[1].default_value = (1.0, 1.0, 1.0)
    tree.links.new(choose.outputs[1], shift.inputs[0])
    far = _math(tree, "MULTIPLY", which.outputs["Random"], 50.0, -860, 80)
    tree.links.new(far, shift.inputs[2])
    return shift.outputs[0]


def _plies(tree: NodeTree, position: NodeSocket) -> NodeSocket:
    """Light and dark layers through the thickness."""
    split = _node(tree, "ShaderNodeSeparateXYZ", -900, -250)
    tree.links.new(position, split.inputs[0])
    turns = _math(tree, "MULTIPLY", split.outputs[2], 3.14159265 / PLY, -720, -250)
    return _math(tree, "MULTIPLY_ADD", _math(tree, "SINE", turns, 0.0, -560, -250), 0.5, -380, -250, add=0.5)


def _is_face(tree: NodeTree, normal: NodeSocket) -> NodeSocket:
    split = _node(tree, "ShaderNodeSeparateXYZ", -560, -450)
    tree.links.new(normal, split.inputs[0])
    size = _math(tree, "ABSOLUTE", split.outputs[2], 0.0, -380, -450)
    return _math(tree, "GREATER_THAN", size, 0.7, -180, -450)


def _node(tree: NodeTree, kind: str, x: float, y: float) -> Node:
    node = tree.nodes.new(kind)
    node.location = (x, y)
    return node


def _math(
    tree: NodeTree, operation: str, value: NodeSocket, by: float, x: float, y: float, add: float = 0.0
) -> NodeSocket:
    node = _node(tree, "ShaderNodeMath", x, y)
    node.operation = operation
    tree.links.new(value, node.inputs[0])
    node.inputs[1].default_value = by
    node.inputs[2].default_value = add
    return node.outputs[0]


def _noise(
    tree: NodeTree, position: NodeSocket, scale: Color, detail: float, roughness: float, x: float, y: float
) -> NodeSocket:
    stretch = _node(tree, "ShaderNodeVectorMath", x - 180, y)
    stretch.operation = "MULTIPLY"
    stretch.inputs[1].default_value = scale
    tree.links.new(position, stretch.inputs[0])
    noise = _node(tree, "ShaderNodeTexNoise", x, y)
    noise.inputs["Scale"].default_value = 1.0
    noise.inputs["Detail"].default_value = detail
    noise.inputs["Roughness"].default_value = roughness
    tree.links.new(stretch.outputs[0], noise.inputs["Vector"])
    return noise.outputs[0]


def _ramp(tree: NodeTree, value: NodeSocket, tone: Tone, x: float, y: float) -> NodeSocket:
    node = _node(tree, "ShaderNodeValToRGB", x, y)
    ramp = node.color_ramp
    ramp.elements[0].position, ramp.elements[0].color = 0.3, (*tone.dark, 1.0)
    ramp.elements[1].position, ramp.elements[1].color = 0.62, (*tone.pale, 1.0)
    tree.links.new(value, node.inputs[0])
    return node.outputs[0]
