"""The shaders: Blender's plain colour, and our own for shapes of constant size on the screen."""

from __future__ import annotations

from functools import cache
from typing import Any

import gpu

_VERTEX = """
void main()
{
  vec4 here = to_screen * vec4(place, 1.0);
  vec2 way = vec2(1.0, 0.0);
  if (dot(along, along) > 0.0) {
    /* How the direction looks at this place: the change of the projected place along it. */
    vec4 ahead = to_screen * vec4(along, 0.0);
    vec2 seen = (ahead.xy * here.w - here.xy * ahead.w) / pixel;
    if (dot(seen, seen) > 0.0) {
      way = normalize(seen);
    }
  }
  vec2 across = vec2(-way.y, way.x);
  here.xy += (way * offset.x + across * offset.y) * pixel * here.w;
  colour = ink.a > 0.0 ? ink : paper;
  gl_Position = here;
}
"""
_FRAGMENT = """
void main()
{
  result = blender_srgb_to_framebuffer_space(colour);
}
"""


@cache
def plain() -> Any:
    """One colour for all."""
    return gpu.shader.from_builtin("UNIFORM_COLOR")


@cache
def marks() -> Any:
    """Corners as in `shapes.Corners`; uniforms: `to_screen`, `paper` and `pixel`, the size of one in clip space."""
    between = gpu.types.GPUStageInterfaceInfo("dry_assembly_marks")
    between.flat("VEC4", "colour")
    info = gpu.types.GPUShaderCreateInfo()
    info.push_constant("MAT4", "to_screen")
    info.push_constant("VEC4", "paper")
    info.push_constant("VEC2", "pixel")
    for number, (kind, name) in enumerate(
        (("VEC3", "place"), ("VEC3", "along"), ("VEC2", "offset"), ("VEC4", "ink"))
    ):
        info.vertex_in(number, kind, name)
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "result")
    info.vertex_source(_VERTEX)
    info.fragment_source(_FRAGMENT)
    return gpu.shader.create_from_info(info)


def forget() -> None:
    """Drops the shaders."""
    plain.cache_clear()
    marks.cache_clear()
