"""Writes a review into a folder: all of it or nothing, and never over what an earlier review did not make."""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from fuelsys.errors import OutputError
from fuelsys.load.files import label
from fuelsys.model.findings import Finding
from fuelsys.model.study import Study
from fuelsys.report import contents
from fuelsys.report.shown import Shown

# Lists the files of a review with their digests, so that the next one knows what it may write over.
LEDGER = "files.sha256"


def write_file(path: Path, content: str | bytes, *, replace: bool) -> None:
    """Write one file whole or not at all; OutputError where one is there already and replace is not asked for."""
    check_free(path, replace=replace)
    data = content.encode("utf-8") if isinstance(content, str) else content
    with _translated(path):
        descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(data)
            os.chmod(name, 0o666 & ~_umask())
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise


def check_free(path: Path, *, replace: bool) -> None:
    """OutputError where a file cannot be written, or one is there that may not be written over: asked before long work, too."""
    with _translated(path):
        there = path.exists()
        if path.is_dir():
            raise IsADirectoryError
        if not path.parent.is_dir():
            raise NotADirectoryError if path.parent.exists() else FileNotFoundError
        if not os.access(path.parent, os.W_OK | os.X_OK):
            raise PermissionError
    if there and not replace:
        raise OutputError("the file is there already", mend="Give another name, or say --replace.", file=str(path))


def write_review(
    folder: Path,
    study: Study,
    findings: Sequence[Finding],
    shown: Shown,
    *,
    files: Mapping[str, bytes] | None = None,
    replace: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> None:
    """Write tables, pictures and the page of a study into a folder; files are added as they are.

    Everything is made in a hidden folder beside it and then takes its place, so that an interruption leaves no half.
    OutputError where the folder holds anything that a review did not write, unless replace is asked for.
    """
    with _translated(folder):
        foreign = _foreign(folder)
    if foreign and not replace:
        listed = ", ".join(foreign[:3]) + (", ..." if len(foreign) > 3 else "")
        raise OutputError(
            f"it holds {len(foreign)} files that no review wrote or that were changed since ({listed})",
            mend="Give another folder with --into, or say --replace: changed files are written over, others are kept.",
            file=str(folder),
        )
    with _translated(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
        work = Path(tempfile.mkdtemp(prefix=f".{folder.name}-unfinished-", dir=folder.parent))
        try:
            made = {
                **contents.review_files(study, findings, shown, datetime.now(), version("fuelsys"), progress),
                **(files or {}),
            }
            for name, data in made.items():
                (work / name).parent.mkdir(parents=True, exist_ok=True)
                (work / name).write_bytes(data)
            (work / LEDGER).write_text(
                "".join(f"{_digest(data)}  {name}\n" for name, data in made.items()), encoding="utf-8"
            )
            for name in foreign:
                if name not in made:
                    (work / name).parent.mkdir(parents=True, exist_ok=True)
                    shutil.copy2(folder / name, work / name)
            os.chmod(work, 0o777 & ~_umask())
            _swap(work, folder)
        finally:
            shutil.rmtree(work, ignore_errors=True)


def _swap(work: Path, folder: Path) -> None:
    if not folder.exists():
        work.rename(folder)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{folder.name}-old-", dir=folder.parent))
    folder.rename(old / "review")
    try:
        work.rename(folder)
    except BaseException:
        (old / "review").rename(folder)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def _foreign(folder: Path) -> list[str]:
    """Files of a folder that no review wrote, or that were changed after it did."""
    if not folder.exists():
        return []
    if not folder.is_dir():
        raise OutputError("this is a file", mend="Give a folder with --into.", file=str(folder))
    ledger = folder / LEDGER
    known = {}
    if ledger.is_file():
        for line in ledger.read_text(encoding="utf-8", errors="replace").splitlines():
            digest, _, name = line.partition("  ")
            known[name] = digest
    present = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*")) if not path.is_dir()}
    present.pop(LEDGER, None)
    return [name for name, path in present.items() if known.get(name) != _digest(path.read_bytes())]


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextmanager
def _translated(path: Path) -> Iterator[None]:
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
    if fault.errno == errno.ENOSPC:
        return "the disk is full", "Make room on it, or give a folder on another one."
    if fault.errno == errno.ENAMETOOLONG:
        return "its name is too long", "Give a shorter one."
    return f"it cannot be written ({fault.strerror or fault})", "Give a folder that you may write to."
