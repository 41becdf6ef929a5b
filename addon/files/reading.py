"""A file that the user named, read whole: a regular one, and none larger than any that makes sense."""

from __future__ import annotations

import codecs
import os
import re
import stat
from pathlib import Path
from typing import Final

from ..sizes.bounds import MOST_BYTES
from ..sizes.errors import TableFileError

_FLAGS: Final = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
"""A pipe into which nobody writes is opened at once, to be told from a file; reading it would wait forever."""

_SAYS: Final = re.compile(rb"^[ \t]*[^#\s]", re.MULTILINE)
"""What is neither blank nor a comment."""


def read_text(path: Path | str) -> str:
    """The text of a table file, or of a file of rows, with its own line ends.

    Raises
    ------
    TableFileError
        Where it cannot be read, is no regular file, is too large, empty, or not UTF-8.
    """
    return decoded(_read(path), Path(path).name)


def decoded(data: bytes, name: str) -> str:
    """The text in what was read, of which one byte more than any file may have is enough.

    Parameters
    ----------
    name : what it was read from, for messages

    Raises
    ------
    TableFileError
        Where it is too large, empty, or not UTF-8.
    """
    if len(data) > MOST_BYTES:
        raise TableFileError(f"{name} is larger than {MOST_BYTES:,} bytes; name a table file.")
    if not _SAYS.search(data.removeprefix(codecs.BOM_UTF8)):
        raise TableFileError(f"{name} is empty; write a table file with the subcommand new, or name another.")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        raise TableFileError(f"{name} is not UTF-8 text; save it as UTF-8.") from None


def _read(path: Path | str) -> bytes:
    try:
        descriptor = os.open(path, _FLAGS)
        try:
            mode = os.fstat(descriptor).st_mode
            if not stat.S_ISREG(mode):
                what = "a folder" if stat.S_ISDIR(mode) else "no regular file"
                raise TableFileError(f"{path} cannot be read: it is {what}; name a file.")
            with os.fdopen(descriptor, "rb", closefd=False) as file:
                return file.read(MOST_BYTES + 1)
        finally:
            os.close(descriptor)
    except OSError as error:
        why = error.strerror or "it cannot be opened"
        raise TableFileError(f"{path} cannot be read: {why}; check the file's name and place.") from None
    except ValueError:
        raise TableFileError(f"{str(path)!r} is not the name of a file; check it.") from None
