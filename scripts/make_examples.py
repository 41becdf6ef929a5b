"""Makes ``blend_examples/`` anew: ``python3 scripts/make_examples.py``.

The .blend files are saved by Blender 4.2, so that every later one opens them; it also makes the README's pictures.
"""

from __future__ import annotations

from pathlib import Path

import environment

BLENDER = "4.2"
FOLDER = Path(environment.ROOT) / "blend_examples"
PICTURES = FOLDER / "pictures"


def main() -> None:
    """Write one .blend an example table."""
    environment.enter("blender", BLENDER)
    from addon.model.examples import EXAMPLES
    from addon.scene import jobs

    FOLDER.mkdir(exist_ok=True)
    for example in EXAMPLES.values():
        path = FOLDER / ("%s.blend" % example.path.stem)
        jobs.build(example.text(), path)
        _say(path)
    PICTURES.mkdir(exist_ok=True)
    for example in EXAMPLES.values():
        for ending, stowed in (("", False), ("-stowed", True)):
            picture = PICTURES / ("%s%s.png" % (example.path.stem, ending))
            jobs.render(example.text(), picture, stowed=stowed)
            _say(picture)
    environment.leave(0)


def _say(path: Path) -> None:
    print("%s, %d kB" % (path.relative_to(environment.ROOT), path.stat().st_size // 1000))


if __name__ == "__main__":
    main()
