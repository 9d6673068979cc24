"""Writes a review into a folder: all of it or nothing, and never over what an earlier review did not make."""

from __future__ import annotations

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
    with _translated(path.parent):
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
    """OutputError where a file is there already that may not be written over: asked before long work, too."""
    with _translated(path.parent):
        there = path.exists()
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
    with _translated(folder.parent):
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
def _translated(folder: Path) -> Iterator[None]:
    """Faults of the file system as one line."""
    try:
        yield
    except OSError as fault:
        raise OutputError(
            f"it cannot be written ({fault.strerror or fault})",
            mend="Give a folder that you may write to.",
            file=str(folder),
        ) from fault
