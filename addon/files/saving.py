"""Files and folders that are the old or the new ones, whole, whatever happens: written beside, then renamed.

What is written beside begins with a dot and names the computer and process that writes it, so that what a process
left that was ended meanwhile is swept by the next one that writes there. Also what is written as JSON,
everywhere: plain data with one rounding.
"""

from __future__ import annotations

import dataclasses
import json
import math
import os
import platform
import re
import shutil
import stat
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import mkdtemp
from typing import Any, Final
from uuid import uuid4

import numpy as np

from ..sizes.errors import ExportError

_COMPUTER: Final = re.sub(r"[^A-Za-z0-9]", "", platform.node())[:20]

_TAG: Final = re.compile(re.escape(_COMPUTER) + r"-(\d+)-[0-9a-f]{8}")
"""Which process of this computer writes it, and a number at random."""

_KEPT: Final = 40
"""Letters of the name that what is written beside takes over: the longest name leaves no room for more."""

_OF_THE_SYSTEM: Final = {".DS_Store", "Thumbs.db", "desktop.ini"}
"""What file browsers leave in folders that they show."""

_NEW: Final = ".new"
_OLD: Final = ".old"
"""Endings of a folder written beside, and of the one whose place it takes."""


def save_text(path: Path | str, text: str) -> None:
    """Save a text as UTF-8, as `save_bytes` does."""
    save_bytes(path, text.encode("utf-8"))


def save_bytes(path: Path | str, data: bytes) -> None:
    """Save a file such that it holds the old or the new content, whole, whatever happens.

    Raises
    ------
    ExportError
        Where it cannot be written, or is no regular file; it is as it was.
    """
    with written(path) as scratch:
        write(scratch, data)


def write(path: Path, data: bytes) -> None:
    """Write a file that is not there yet, down to the disk. Raises OSError."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def written(path: Path | str) -> Iterator[Path]:
    """A path beside a file to write to instead; what is there afterwards takes the place of the file.

    Raises
    ------
    ExportError
        Where the file is there and no regular one, where it cannot be written, or where nothing was.
    """
    with _refusing(path):
        target, before = _place(path)
        if before is not None and not stat.S_ISREG(before):
            what = "a folder; name a file in it" if stat.S_ISDIR(before) else "no regular file; name another"
            raise ExportError(f"{path} cannot be written: it is {what}.")
        if not target.parent.is_dir():
            raise ExportError(f"{path} cannot be written: there is no folder {target.parent}; make it first.")
        for left in _left_behind(target, target.suffix):
            left.unlink(missing_ok=True)
        scratch = _beside(target, target.suffix)
        with _unfinished(scratch):
            yield scratch
            scratch.chmod(0o666 & ~_mask() if before is None else stat.S_IMODE(before))
            scratch.replace(target)


@contextmanager
def whole_folder(path: Path | str, ours: Callable[[Path], set[str]]) -> Iterator[Path]:
    """A folder beside another to fill instead; when it is complete, it takes that one's place.

    Where the program is ended in between, there is the old folder, none, or the new one, never some of each; the next
    run puts back what was on its way out.

    Parameters
    ----------
    ours : which names in a folder that is there are of the program's own making and may go

    Raises
    ------
    ExportError
        Where the folder cannot be written, is no folder or the current one, or holds anything else.
    """
    with _refusing(path):
        target, before = _place(path)
        _recover(target)
        if before is not None:
            _must_be_ours(path, target, ours)
        target.parent.mkdir(parents=True, exist_ok=True)
        scratch, old = _beside(target, _NEW), _beside(target, _OLD)
        with _unfinished(scratch):
            scratch.mkdir()
            yield scratch
            _take_place(scratch, target, old)


@contextmanager
def temporary_folder() -> Iterator[Path]:
    """A folder for what is only needed until it is put together; `abandon` takes it away as well."""
    folder = Path(mkdtemp(prefix="dry-assembly-"))
    with _unfinished(folder):
        yield folder


def abandon() -> None:
    """Take away all that is not finished, before a process ends that cannot go back through its callers."""
    for path in tuple(_begun):
        _remove(path)


_begun: set[Path] = set()


@contextmanager
def _unfinished(path: Path) -> Iterator[None]:
    """A file or folder that goes, whether it was put in its place or not."""
    _begun.add(path)
    try:
        yield
    finally:
        _remove(path)
        _begun.discard(path)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def _take_place(scratch: Path, target: Path, old: Path) -> None:
    """Have a folder take the place of another, which goes, or comes back where that fails."""
    try:
        if target.is_dir():
            scratch.chmod(stat.S_IMODE(target.stat().st_mode))
            target.rename(old)
        scratch.rename(target)
    except BaseException:
        if old.is_dir() and not target.exists():
            old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _must_be_ours(path: Path | str, target: Path, ours: Callable[[Path], set[str]]) -> None:
    if not target.is_dir():
        raise ExportError(f"{path} cannot be written: it is no folder; name another.")
    if target in (Path.cwd(), *Path.cwd().parents):
        raise ExportError(
            f"{path} cannot be replaced, for you work in it: name a folder for these files alone."
        )
    strangers = sorted({one.name for one in target.iterdir()} - ours(target) - _OF_THE_SYSTEM)
    if strangers:
        more = f" and {len(strangers) - 1} more" if len(strangers) > 1 else ""
        raise ExportError(
            f"{path} holds other files too ({strangers[0]}{more}): name a folder for these alone."
        )


def _place(path: Path | str) -> tuple[Path, int | None]:
    """The file or folder that a name leads to, links followed, and its mode; None where it is not there yet."""
    try:
        target = Path(os.path.realpath(path))
    except ValueError:
        raise ExportError(f"{str(path)!r} is not the name of a file; use another.") from None
    try:
        return target, target.stat().st_mode
    except FileNotFoundError:
        return target, None


def _beside(target: Path, ending: str) -> Path:
    return target.with_name(f"{_start(target)}{_COMPUTER}-{os.getpid()}-{uuid4().hex[:8]}{ending}")


def _start(target: Path) -> str:
    return f".{target.name[:_KEPT]}."


def _recover(target: Path) -> None:
    """Put back a folder that was on its way out when its process ended, and sweep what that left."""
    for old in _left_behind(target, _OLD):
        if target.exists():
            shutil.rmtree(old, ignore_errors=True)
        else:
            old.rename(target)
    for new in _left_behind(target, _NEW):
        shutil.rmtree(new, ignore_errors=True)


def _left_behind(target: Path, ending: str) -> list[Path]:
    """What processes of this computer wrote beside a file or folder and, ended meanwhile, left there."""
    start, found = _start(target), []
    with suppress(OSError), os.scandir(target.parent) as entries:
        for entry in entries:
            name = entry.name
            if name.startswith(start) and name.endswith(ending):
                tag = _TAG.fullmatch(name[len(start) : len(name) - len(ending)])
                if tag and _has_ended(int(tag[1]), target.parent / name):
                    found.append(target.parent / name)
    return found


def _has_ended(process: int, wrote: Path) -> bool:
    if os.name == "nt":  # where asking for a process by a signal ends it
        return time.time() - wrote.stat().st_mtime > 3600
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return True
    except PermissionError:
        return False
    return False


def _mask() -> int:
    """What a new file may not be used for."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextmanager
def _refusing(path: Path | str) -> Iterator[None]:
    """Whatever the system does not let us do, as one sentence."""
    try:
        yield
    except OSError as error:
        why = error.strerror or str(error) or "it cannot be opened"
        raise ExportError(f"{path} cannot be written: {why}; choose a place that you may write to.") from None


# -- JSON
# ----------------------------------------------------------------------------------------------------


DECIMALS: Final = 9
"""Digits after the point of numbers: of lengths in mm finer than any rounding of the arithmetic matters."""


def plain(value: Any) -> Any:
    """Data as JSON holds it: dataclasses by their fields, arrays and tuples as lists, numbers rounded.

    What is no finite number (room where nothing is in the way) is None. Nothing is a negative zero.
    """
    if isinstance(value, float | np.floating):
        return round(float(value), DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, np.ndarray) and value.dtype.kind == "f" and np.isfinite(value).all():
        return (np.round(value, DECIMALS) + 0.0).tolist()
    if isinstance(value, np.generic | np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    return value


def document_text(document: Any) -> str:
    """The text of a JSON document, in one line."""
    return json.dumps(plain(document), allow_nan=False) + "\n"
