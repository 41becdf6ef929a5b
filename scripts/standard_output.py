"""Standard output of scripts that drive Blender: theirs alone, with Blender's own words elsewhere."""

from __future__ import annotations

import io
import os
import sys


def must_be_open() -> None:
    """End with status 2 where standard output is closed; what is closed otherwise leads nowhere from here on."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free
    if sys.stderr is None:
        sys.stderr = os.fdopen(2, "w", encoding="utf-8", closefd=False)
    if sys.stdout is None:
        sys.stderr.write("error: standard output is closed: nothing can be said\n")
        sys.exit(2)


def keep_pure() -> None:
    """Keep standard output for the script's ``print``; what Blender says goes to standard error."""
    if isinstance(sys.stdout, PureOutput):  # done already
        return
    sys.stdout.flush()
    own = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = PureOutput(own)


def send_chatter_to(path: str) -> None:
    """Have what Blender's C code says written to a file; this script's own output and errors stay on the screen."""
    keep_pure()
    sys.stderr.flush()
    sys.stderr = os.fdopen(os.dup(2), "w", encoding="utf-8", errors="backslashreplace", buffering=1)
    log = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o666)
    os.dup2(log, 1)
    os.dup2(log, 2)
    os.close(log)


class PureOutput(io.TextIOWrapper):
    """A text stream on a file descriptor that passes what Blender's operators report on to standard error.

    Blender's C code writes to descriptor 1, but what an operator called from Python reports (``Info: Saved``)
    to ``sys.stdout``: its kind, a colon, a message and the end of the line, in one piece.
    """

    KINDS = "Debug,Info,Operator,Property,Warning,Error,Invalid Input,Invalid Context,Out of Memory"
    REPORTS = tuple(kind + ": " for kind in KINDS.split(","))

    def __init__(self, descriptor: int) -> None:
        super().__init__(os.fdopen(descriptor, "wb"), encoding="utf-8", line_buffering=True)

    def write(self, text: str) -> int:
        """Write, or pass on."""
        if text.startswith(self.REPORTS) and text.endswith("\n"):
            os.write(2, text.encode())  # where Blender's own words go
            return len(text)
        return super().write(text)
