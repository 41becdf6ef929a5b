"""Where the program begins and ends: one way in for files, one way out for whatever there is to say.

Every subcommand reads its file here, so that all refuse alike, in the same words. Whatever goes wrong becomes one
sentence and an exit status, and nothing a traceback.
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final, NoReturn, TextIO

from ..designs.table.parameters import Table
from ..designs.words.answer import Told
from ..files.saving import abandon, document_text
from ..files.table_file import decoded, parse_table, read_text
from ..sizes.bounds import MOST_BYTES
from ..sizes.errors import DryAssemblyError, ParameterError, TableFileError
from ..wood.assembly import Assembly

BAD_INPUT: Final = 2
STOPPED: Final = 130
"""128 and the number of the signal that Ctrl-C sends, as shells have it."""

_STOPPED_SAYS: Final = "Stopped; no file is half written."

_SHOWN: Final = "DRY_ASSEMBLY_TRACEBACK"
"""Environment variable; set to 1, it shows where an error came from."""

_PLAIN: Final = {
    "·": "-",
    "→": "->",
    "…": "...",
    "−": "-",
    "–": "-",
    "±": "+/-",
    "×": "x",
    "°": " deg",
    "″": '"',
}
"""What stands for a sign where the terminal lacks it and Unicode knows nothing like it."""


_STANDARD_INPUT: Final = Path("-")


class OutputError(DryAssemblyError):
    """Standard output that does not take what there is to say."""


def text_of(path: Path) -> str:
    """The text of a file, or of standard input for "-". Raises TableFileError."""
    if path != _STANDARD_INPUT:
        return read_text(path)
    try:
        data = sys.stdin.buffer.read(MOST_BYTES + 1)
    except (AttributeError, OSError, ValueError):  # there is none, or it is closed
        raise TableFileError(f"{called(path)} cannot be read; name a file.") from None
    return decoded(data, called(path))


def called(path: Path) -> str:
    """What messages call a file."""
    return "Standard input" if path == _STANDARD_INPUT else path.name


def open_table(path: Path, text: str | None = None) -> tuple[Table, Assembly]:
    """The table of a file, or of standard input for "-", and its parts, each of which can be cut.

    Parameters
    ----------
    text : the file's, where it was read already

    Raises
    ------
    DryAssemblyError : where the file cannot be read, holds no valid table, or one that cannot be built
    """
    from ..designs.table import build

    table = parse_table(text_of(path) if text is None else text, called(path))
    try:
        return table, build(table)
    except ParameterError as error:
        from ..designs.table.adapting import refusal

        raise refusal(table, error) from None


def answered(table: Table, assembly: Assembly) -> Told:
    """The three lines of a table and its leaves, as `check` has them, for what stands on a page."""
    from ..check.prepared import prepare
    from ..check.progress import run_through
    from ..designs.table.design import answer_steps
    from ..designs.words.answer import told_of

    return told_of(run_through(answer_steps(table, prepare(assembly))))


def open_text(path: Path) -> str:
    """The text of such a file, for those who build the table again in Blender. Raises as `open_table` does."""
    text = text_of(path)
    open_table(path, text)
    return text


@dataclass(frozen=True)
class Outcome:
    """What a subcommand has to say: a document for `--json`, a text for the screen, the exit status."""

    document: dict[str, Any] | list[dict[str, Any]]
    text: str = ""
    status: int = 0


def today() -> str:
    """The date for title blocks."""
    return date.today().isoformat()


def guarded(work: Callable[[], int], as_json: bool) -> int:
    """The exit status of some work; where it does not come to its end, one sentence says why.

    Parameters
    ----------
    as_json : whether standard output gets an `error` document as well
    """
    try:
        return work()
    except KeyboardInterrupt:
        sentence, status = _STOPPED_SAYS, STOPPED
        _show_origin()
    except Exception as error:
        sentence, status = _sentence(error), BAD_INPUT
        _show_origin()
    say(f"dry_assembly: {sentence}")
    if as_json:
        with suppress(OutputError):
            write(document_text({"error": sentence}))
    return status


@contextmanager
def stopped_at_once() -> Iterator[None]:
    """Has Ctrl-C end the process: raised within Blender it would be lost, which goes on after a callback that fails."""

    def stop(*_: object) -> NoReturn:
        with suppress(Exception):
            abandon()
            # Past what is perhaps in the middle of a write.
            os.write(sys.stderr.fileno(), f"dry_assembly: {_STOPPED_SAYS}\n".encode())
        os._exit(STOPPED)

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.SIG_DFL if before is None else before)


def write(text: str) -> None:
    """Write to standard output, down to the last letter. Raises OutputError."""
    if sys.stdout is None:
        raise OutputError("Standard output is closed: nothing can be said.")
    try:
        sys.stdout.write(plain(text, sys.stdout.encoding))
        sys.stdout.flush()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is closed"
        _give_up(sys.stdout)
        raise OutputError(f"Standard output does not take what there is to say: {why}.") from None


def say(text: str) -> None:
    """Write a line to standard error, if anybody listens."""
    if sys.stderr is not None:
        with suppress(OSError, ValueError):
            sys.stderr.write(plain(text, sys.stderr.encoding) + "\n")
            sys.stderr.flush()


def plain(text: str, encoding: str | None) -> str:
    """A text in letters that an encoding has: what it lacks in plain letters, bytes of a file's name as ``\\xff``."""
    kind = encoding or "utf-8"
    return text if _has(kind, text) else "".join(_plain_letter(letter, kind) for letter in text)


def _plain_letter(letter: str, encoding: str) -> str:
    bare = "".join(one for one in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(one))
    for same in (letter, _PLAIN.get(letter, ""), bare.replace("\u2044", "/")):
        if same and _has(encoding, same):
            return same
    return f"\\x{ord(letter) - 0xDC00:02x}" if 0xDC80 <= ord(letter) <= 0xDCFF else "?"


def _has(encoding: str, text: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def _give_up(stream: TextIO) -> None:
    """Let the interpreter's own last flush go nowhere: it would fail again, with another exit status."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def _sentence(error: Exception) -> str:
    if isinstance(error, DryAssemblyError):
        return str(error)
    if isinstance(error, MemoryError):
        return (
            "There is not enough memory for this: use a smaller table, a smaller sheet or fewer dots an inch."
        )
    if isinstance(error, OSError) and error.strerror:
        where = f"{error.filename}: " if error.filename else ""
        return f"{where}{error.strerror}; check the place and its permissions."
    return (
        f"The program itself went wrong, {type(error).__name__} in {_place(error)}: please report this with the file"
        f" and the command ({_SHOWN}=1 shows more)."
    )


def _place(error: Exception) -> str:
    """Module and line, as far as the program's own go."""
    home = Path(__file__).resolve().parent.parent
    for frame in reversed(traceback.extract_tb(error.__traceback__)):
        with suppress(ValueError):
            return f"{Path(frame.filename).resolve().relative_to(home).as_posix()}, line {frame.lineno}"
    return "a library"


def _show_origin() -> None:
    if os.environ.get(_SHOWN) == "1":
        say(traceback.format_exc().rstrip())
