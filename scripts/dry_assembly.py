"""Tables on the command line: ``python3 scripts/dry_assembly.py SUB FILE …``; ``--help`` lists what there is."""

from __future__ import annotations

import os
import sys

import environment
import standard_output

BLENDER_SUBCOMMANDS = ("build", "render", "animate")


def main() -> None:
    """Find the environment that the subcommand needs and run it there."""
    try:
        standard_output.must_be_open()
        environment.leave(_run(sys.argv[1:]))
    except KeyboardInterrupt:  # before the subcommand was reached
        sys.stderr.write("dry_assembly: Stopped.\n")
        environment.leave(130)
    except OSError as error:
        environment.fail("%s; check %s" % (error.strerror, error.filename or "the place"))


def _run(arguments: list[str]) -> int:
    wants_blender = subcommand_of(arguments) in BLENDER_SUBCOMMANDS
    environment.enter("blender" if wants_blender else "paper" if wants_pdf(arguments) else "light")
    if wants_blender:
        standard_output.send_chatter_to(os.devnull)
    from addon.command_line import main as run

    return run(arguments)


def subcommand_of(arguments: list[str]) -> str:
    """The first argument that is no option."""
    return next((word for word in arguments if not word.startswith("-")), "")


def wants_pdf(arguments: list[str]) -> bool:
    """Whether a PDF may be written, which takes a package more: where a file is named so, or by default."""
    if subcommand_of(arguments) == "papers" or any(word.lower().endswith(".pdf") for word in arguments):
        return True
    if _value(arguments, "--pictures") is None:
        return False
    usual = "pdf" if subcommand_of(arguments) == "steps" else None
    return (_value(arguments, "--format") or usual) == "pdf"


def _value(arguments: list[str], option: str) -> str | None:
    """What is given for an option, spelled ``--option value`` or ``--option=value``, or with the option cut short."""
    found = None
    for number, word in enumerate(arguments):
        name, equals, value = word.partition("=")
        if len(name) > 2 and option.startswith(name):
            found = value if equals else "".join(arguments[number + 1 : number + 2])
    return found


if __name__ == "__main__":
    main()
