"""The system libraries that Blender as a module loads on Linux, and the packages that bring them.

Run as a script, it prints Debian's names of the packages that are missing, for ``.ci/run``.
"""

from __future__ import annotations

import ctypes
import re
import sys

#: Library -> its package in Debian, in Fedora.
PACKAGES = {
    "libX11.so.6": ("libx11-6", "libX11"),
    "libXext.so.6": ("libxext6", "libXext"),
    "libXrender.so.1": ("libxrender1", "libXrender"),
    "libXfixes.so.3": ("libxfixes3", "libXfixes"),
    "libXi.so.6": ("libxi6", "libXi"),
    "libXxf86vm.so.1": ("libxxf86vm1", "libXxf86vm"),
    "libxkbcommon.so.0": ("libxkbcommon0", "libxkbcommon"),
    "libSM.so.6": ("libsm6", "libSM"),
    "libICE.so.6": ("libice6", "libICE"),
    "libGL.so.1": ("libgl1", "libglvnd-glx"),
    "libEGL.so.1": ("libegl1", "libglvnd-egl"),
    "libgomp.so.1": ("libgomp1", "libgomp"),
}
#: Those that Blender opens only when it draws.
FOR_DRAWING = ("libEGL.so.1",)


def missing() -> list[str]:
    """Libraries of the table that this system cannot load (none outside Linux)."""
    return [name for name in PACKAGES if sys.platform == "linux" and not _loads(name)]


def missing_for_drawing() -> list[str]:
    """All missing libraries if one of those that drawing needs is missing, else none."""
    drawing = sys.platform != "linux" or all(_loads(name) for name in FOR_DRAWING)
    return [] if drawing else missing()


def explain(error: ImportError) -> str:
    """One sentence on an import of Blender that failed: what is missing and which packages bring it."""
    named = re.match(r"(\S+\.so[.\d]*): cannot open shared object file", str(error))
    if named is None:
        return "Blender as a module does not load: %s" % error
    return advice([named.group(1)] + [name for name in missing() if name != named.group(1)])


def advice(names: list[str]) -> str:
    """One sentence: which packages bring the missing libraries, the first of which is the one at fault."""
    known = [name for name in names if name in PACKAGES]
    if not known:
        return "Blender needs the system library %s; install the package that brings it" % names[0]
    debian = " ".join(PACKAGES[name][0] for name in known)
    fedora = " ".join(PACKAGES[name][1] for name in known)
    noun, pronoun = ("library", "it") if len(names) == 1 else ("libraries", "them")
    return (
        f"Blender needs the missing system {noun} {', '.join(names)}: 'apt-get install {debian}' brings {pronoun} "
        f"on Debian, 'dnf install {fedora}' on Fedora"
    )


def _loads(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


if __name__ == "__main__":
    print(" ".join(PACKAGES[name][0] for name in missing()))
