"""Makes ``blend_examples/`` anew: ``python3 scripts/make_examples.py``.

The .blend files are saved by Blender 4.2, so that every later one opens them; it also makes the README's pictures.
"""

from __future__ import annotations

import datetime
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
    _draw(EXAMPLES["quilting"], datetime.date.today().isoformat())
    environment.leave(0)


def _draw(example, date: str) -> None:  # noqa: ANN001
    """The drawing that the README shows: a leaf on its way, from the side."""
    from addon.fit.prepared import prepare
    from addon.fit.slide.proof import prove_leaves
    from addon.model.recipe import build
    from addon.shop.drawing.save import save
    from addon.shop.slide_pictures import side_picture

    table = example.table()
    leaf = prove_leaves(prepare(build(table)))[0]
    drawing = side_picture(
        leaf.side.proof, table=table.name, leaf=leaf.leaf, view="side", units=table.units, date=date
    )
    picture = PICTURES / ("%s-slide.png" % example.path.stem)
    save(drawing, picture, dpi=110)
    _say(picture)


def _say(path: Path) -> None:
    print("%s, %d kB" % (path.relative_to(environment.ROOT), path.stat().st_size // 1000))


if __name__ == "__main__":
    main()
