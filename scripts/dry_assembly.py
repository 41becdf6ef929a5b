"""Tables on the command line: ``python3 scripts/dry_assembly.py SUB FILE …``; ``--help`` lists what there is."""

from __future__ import annotations

import os
import sys

import environment
import standard_output

BLENDER_SUBCOMMANDS = ("build", "render", "animate")


def main() -> None:
    """Find the environment that the subcommand needs and run it there."""
    arguments = [word for word in sys.argv[1:] if not word.startswith("-")]
    wants_blender = bool(arguments) and arguments[0] in BLENDER_SUBCOMMANDS
    wants_pdf = any(word.lower().endswith(".pdf") for word in arguments)
    environment.enter("blender" if wants_blender else "paper" if wants_pdf else "light")
    if wants_blender:
        standard_output.send_chatter_to(os.devnull)
    from addon.command_line import main as run

    environment.leave(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
