"""The shaders: Blender's plain color, and our own for shapes of constant size on the screen."""

from __future__ import annotations

from functools import cache
from typing import Any

import gpu

from .prepare import LEAST

_VERTEX = (
    f"#define LEAST {LEAST:.1f}"
    + """
vec3 linear(vec3 c)
{
  return mix(c / 12.92, pow((c + 0.055) / 1.055, vec3(2.4)), step(vec3(0.04045), c));
}

void main()
{
  vec4 here = to_screen * vec4(place, 1.0);
  vec2 way = vec2(1.0, 0.0);
  bool shown = true;
  if (dot(along, along) > 0.0) {
    /* How the direction looks at this place: the change of the projected place along it. */
    vec4 ahead = to_screen * vec4(along, 0.0);
    vec2 seen = (ahead.xy * here.w - here.xy * ahead.w) / pixel;
    shown = length(seen) > LEAST * here.w * here.w;
    way = shown ? normalize(seen) : way;
  }
  vec2 across = vec2(-way.y, way.x);
  here.xy += (way * offset.x + across * offset.y) * pixel * here.w;
  vec4 srgb = ink.a > 0.0 ? ink : paper;
  /* Blender says whether what is drawn into wants linear colors. */
  color = !shown ? vec4(0.0) : srgbTarget ? vec4(linear(srgb.rgb), srgb.a) : srgb;
  around = round_at;
  gl_Position = here;
}
"""
)
_FRAGMENT = """
void main()
{
  float away = length(around);
  float inside = clamp((1.0 - away) / max(fwidth(away), 1e-6) + 0.5, 0.0, 1.0);
  result = vec4(color.rgb, color.a * inside);
}
"""


@cache
def plain() -> Any:
    """One color for all."""
    return gpu.shader.from_builtin("UNIFORM_COLOR")


@cache
def painted() -> Any:
    """A color for each corner."""
    return gpu.shader.from_builtin("FLAT_COLOR")


@cache
def marks() -> Any:
    """Corners as in `prepare.Corners`; uniforms: `to_screen`, `paper` and `pixel`, the size of one in clip space."""
    between = gpu.types.GPUStageInterfaceInfo("dry_assembly_marks")
    between.flat("VEC4", "color")
    between.smooth("VEC2", "around")
    info = gpu.types.GPUShaderCreateInfo()
    info.push_constant("MAT4", "to_screen")
    info.push_constant("VEC4", "paper")
    info.push_constant("VEC2", "pixel")
    info.push_constant("BOOL", "srgbTarget")
    info.vertex_in(0, "VEC3", "place")
    info.vertex_in(1, "VEC3", "along")
    info.vertex_in(2, "VEC2", "offset")
    info.vertex_in(3, "VEC4", "ink")
    info.vertex_in(4, "VEC2", "round_at")
    info.vertex_out(between)
    info.fragment_out(0, "VEC4", "result")
    info.vertex_source(_VERTEX)
    info.fragment_source(_FRAGMENT)
    return gpu.shader.create_from_info(info)


def forget() -> None:
    """Drops the shaders."""
    plain.cache_clear()
    painted.cache_clear()
    marks.cache_clear()
