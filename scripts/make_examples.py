"""Makes ``blend_examples/`` anew: ``python3 scripts/make_examples.py``. Saved by Blender 4.2, so that every later one
opens them."""

from __future__ import annotations

from pathlib import Path

import environment

BLENDER = "4.2"
FOLDER = Path(environment.ROOT) / "blend_examples"


def main() -> None:
    """Write one .blend an example table."""
    environment.enter("blender", BLENDER)
    environment.keep_stdout_pure()
    from addon.model.examples import EXAMPLES
    from addon.scene import jobs

    FOLDER.mkdir(exist_ok=True)
    for example in EXAMPLES.values():
        path = FOLDER / ("%s.blend" % example.path.stem)
        jobs.build(example.text(), path)
        print("%s, %d kB" % (path.relative_to(environment.ROOT), path.stat().st_size // 1000))
    environment.leave(0)


if __name__ == "__main__":
    main()
