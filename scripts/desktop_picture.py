"""A picture of Blender's window as it is on the screen."""

from __future__ import annotations

import ctypes
import importlib
import os
import struct
import zlib
from pathlib import Path
from typing import Any

import desktop_hand as hand

bpy: Any = importlib.import_module("bpy")


def save(path: str) -> None:
    """Writes a PNG of the window.

    On X11 the picture comes from the screen: Blender's own screenshot reads a buffer that some drivers leave black.
    """
    if os.environ.get("DISPLAY") and not os.environ.get("WAYLAND_DISPLAY"):
        width, height, rows = _from_x11()
        Path(path).write_bytes(_png(width, height, rows))
        return
    with hand.override():
        bpy.ops.screen.screenshot(filepath=path)


def save_part(path: Path, part: tuple[int, int, int, int]) -> None:
    """Writes a PNG of part of the window: left, bottom, width and height, pixels.

    Raises OSError where there is no X11 screen.
    """
    left, bottom, width, height = part
    _, tall, rows = _from_x11()
    upper = tall - bottom - height
    cut = [row[3 * left : 3 * (left + width)] for row in rows[max(upper, 0) : upper + height]]
    path.write_bytes(_png(width, len(cut), cut))


class _Image(ctypes.Structure):
    """The head of XImage, from Xlib.h."""

    _fields_ = [
        ("width", ctypes.c_int),
        ("height", ctypes.c_int),
        ("xoffset", ctypes.c_int),
        ("format", ctypes.c_int),
        ("data", ctypes.POINTER(ctypes.c_ubyte)),
        ("byte_order", ctypes.c_int),
        ("bitmap_unit", ctypes.c_int),
        ("bitmap_bit_order", ctypes.c_int),
        ("bitmap_pad", ctypes.c_int),
        ("depth", ctypes.c_int),
        ("bytes_per_line", ctypes.c_int),
        ("bits_per_pixel", ctypes.c_int),
    ]


def _from_x11() -> tuple[int, int, list[bytes]]:
    """Width, height and RGB rows of the part of the screen where the window is."""
    x11 = ctypes.CDLL("libX11.so.6")
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XOpenDisplay.argtypes = [ctypes.c_char_p]
    x11.XDefaultRootWindow.restype = ctypes.c_ulong
    x11.XDefaultRootWindow.argtypes = [ctypes.c_void_p]
    x11.XGetImage.restype = ctypes.POINTER(_Image)
    x11.XGetImage.argtypes = [
        ctypes.c_void_p,
        ctypes.c_ulong,
        *[ctypes.c_int] * 2,
        *[ctypes.c_uint] * 2,
        ctypes.c_ulong,
        ctypes.c_int,
    ]
    x11.XDisplayWidth.argtypes = x11.XDisplayHeight.argtypes = [ctypes.c_void_p, ctypes.c_int]
    x11.XCloseDisplay.argtypes = [ctypes.c_void_p]
    display = x11.XOpenDisplay(None)
    if not display:
        raise OSError("no X11 screen")
    screen_width, screen_height = x11.XDisplayWidth(display, 0), x11.XDisplayHeight(display, 0)
    shown = hand.window()
    left, top = max(shown.x, 0), max(screen_height - shown.y - shown.height, 0)
    width, height = min(shown.width, screen_width - left), min(shown.height, screen_height - top)
    image = x11.XGetImage(
        display, x11.XDefaultRootWindow(display), left, top, width, height, 0xFFFFFFFF, 2
    ).contents
    if image.bits_per_pixel != 32:
        raise OSError("a screen of %d bits a pixel is not known" % image.bits_per_pixel)
    data = ctypes.string_at(image.data, image.bytes_per_line * height)
    x11.XCloseDisplay(display)
    rows = []
    for number in range(height):
        line = data[number * image.bytes_per_line :][: 4 * width]
        row = bytearray(3 * width)
        row[0::3], row[1::3], row[2::3] = line[2::4], line[1::4], line[0::4]  # blue comes first there
        rows.append(bytes(row))
    return width, height, rows


def _png(width: int, height: int, rows: list[bytes]) -> bytes:
    """A PNG file (ISO/IEC 15948) of RGB rows."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"".join(b"\0" + row for row in rows), 6)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
