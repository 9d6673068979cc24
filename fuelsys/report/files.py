"""Writes files whole or not at all, and says in one line where and why one cannot be written."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from fuelsys.errors import OutputError
from fuelsys.load.formats.files import label

PICTURES = (".png", ".svg")


def write_file(
    path: Path, content: str | bytes, *, replace: bool, check: Callable[[Path], object] = lambda _: None
) -> None:
    """Write one file whole or not at all; OutputError where one is there already and replace is not asked for.

    check reads what was written before it takes its place; what it raises leaves the old file. Its rights stay.
    """
    check_free(path, replace=replace)
    with told(path):
        unfinished = aside(path)
        try:
            unfinished.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
            if path.exists():
                unfinished.chmod(stat.S_IMODE(path.stat().st_mode))
            check(unfinished)
            os.replace(unfinished, path)
        except BaseException:
            unfinished.unlink(missing_ok=True)
            raise


def aside(path: Path) -> Path:
    """Where a file is written before it takes its place: hidden beside it, one for each process.

    >>> aside(Path("review/index.html")).name.startswith(".index.html.")
    True
    """
    return path.with_name(f".{path.name}.{os.getpid()}.unfinished")


def check_free(path: Path, *, replace: bool) -> None:
    """OutputError where a file cannot be written, or one is there that may not be written over: asked before long work, too."""
    with told(path):
        there = os.path.lexists(path)
        if path.is_dir():
            raise IsADirectoryError
        if not path.parent.is_dir():
            raise NotADirectoryError if path.parent.exists() else FileNotFoundError
        if not os.access(path.parent, os.W_OK | os.X_OK):
            raise PermissionError
    if there and not regular(path):
        found = "this is a link, a pipe or a device, not a file"
        raise OutputError(found, mend="Give the name of a file, or of a new one.", file=label(path))
    if there and not replace:
        raise OutputError("the file is there already", mend="Give another name, or say --replace.", file=label(path))


def regular(path: Path) -> bool:
    """Is it a plain file, and no link to one? A pipe or a device is never opened: it might block for ever."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Faults of the file system as one line, with the path as it was typed."""
    try:
        yield
    except OSError as fault:
        found, mend = _explained(path, fault)
        raise OutputError(found, mend=mend, file=label(path)) from fault


def _explained(path: Path, fault: OSError) -> tuple[str, str]:
    """Why a path cannot be written, and what to do."""
    match fault:
        case PermissionError():
            return "you may not write there", "Give a folder that you may write to."
        case FileNotFoundError() if path.parent.is_dir():
            return f'nothing can be written in "{label(path.parent)}"', "Give a folder that you may write to."
        case FileNotFoundError():
            return f'there is no folder "{label(path.parent)}"', "Make it first, or give another."
        case NotADirectoryError() | FileExistsError():
            return "a part of this path is a file, not a folder", "Give a folder that is there."
        case IsADirectoryError():
            return "this is a folder", "Give the name of a file."
    if fault.errno == errno.EROFS:
        return "nothing can be written on that disk", "Give a folder on another one."
    if fault.errno in (errno.ENOSPC, errno.EDQUOT):
        return "the disk is full", "Make room on it, or give a folder on another one."
    if fault.errno == errno.ENAMETOOLONG:
        return "its name is too long", "Give a shorter one."
    return f"it cannot be written ({fault.strerror or fault})", "Give a folder that you may write to."
