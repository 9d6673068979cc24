"""Writes a review into a folder: all of it or nothing, and never over what an earlier review did not make.

Everything is computed first, then written beside its place, and only when all of it is on the disk does each file take its
place, one by one, index.html last. So the folder itself stays what it is (its rights, a link to it), nothing of the
person's own in it is touched, and a run that is stopped leaves the old review or the new one, each file whole.

`report/page/folder.py` computes everything first, lets it wait in a hidden folder inside the one asked for, and then puts each file in
its place (`os.replace`), index.html last; meanwhile signals wait (`stops.py`) and the folder is locked. So the folder's rights
and links stay, a stop leaves the old review or the new one, and even a kill leaves each file whole. `files.sha256` says what is
ours: it is written with old and new digests before the first file and with the new ones after the last. What it does not list is
the person's own: it is never opened (it may be a pipe), and without --replace it stops the review. An earlier design made the
review beside the folder and renamed twice: between the two there was no folder at all.

Names of files are made by `contents.file_names` (one for each, whatever the case); a character that cannot be seen is refused at
the design door (`load/designs/characters.py`); a CSV cell that a spreadsheet would take for a formula has an apostrophe before it.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from importlib.metadata import version
from pathlib import Path, PurePosixPath

from fuelsys.errors import OutputError
from fuelsys.load.formats.files import label
from fuelsys.model.found.findings import Finding
from fuelsys.model.found.study import Study
from fuelsys.report.files import regular, told
from fuelsys.report.page import contents, printing
from fuelsys.report.shown import Shown
from fuelsys.stops import uninterrupted

if sys.platform != "win32":
    import fcntl

DESIGN = "design/"  # where the files that a review was made of are kept in it
# Lists the files of a review with their digests, so that the next one knows what it may write over.
LEDGER = "files.sha256"
_LAST = "index.html"
_UNFINISHED = ".unfinished-"  # and the number of the process: where files wait until all of them are there
_MOST_LEDGER = 10 * 1024**2


def write_review(
    folder: Path,
    study: Study,
    findings: Sequence[Finding],
    shown: Shown,
    *,
    files: Mapping[str, bytes] | None = None,
    replace: bool = False,
    explorer: bool | None = None,
    paper: str | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> None:
    """Write tables, pictures and the page of a study into a folder; files are added as they are, those that the study rests on
    below DESIGN. explorer as in contents; paper: one of printing.PAPERS for the page as a PDF on it, too.

    OutputError where the folder holds anything that a review did not write, unless replace is asked for: then files that
    were changed are written over, and all others are kept.
    """
    check_folder(folder, replace=replace)
    made = {
        **contents.review_files(study, findings, shown, datetime.now(), version("fuelsys"), progress, explorer),
        **(files or {}),
    }
    if paper is not None:
        progress("printing the page")
        made["review.pdf"] = printing.as_pdf(made["index.html"], paper)
    write_files(folder, made, replace=replace)


def check_folder(folder: Path, *, replace: bool) -> None:
    """OutputError where a review may not be written into a folder: asked before long work, too."""
    with told(folder):
        if not os.path.lexists(folder):
            return
        if not folder.is_dir():
            found = "this is a link to nothing" if folder.is_symlink() else "this is a file"
            raise OutputError(found, mend="Give a folder with --into.", file=label(folder))
        foreign = [] if replace else _foreign(folder, ledger(folder))
    if foreign:
        listed = ", ".join(label(name) for name in foreign[:3]) + (", ..." if len(foreign) > 3 else "")
        raise OutputError(
            f"it holds files that no review wrote or that were changed since ({listed})",
            mend="Give another folder with --into, or say --replace: changed files are written over, others are kept.",
            file=label(folder),
        )


def write_files(folder: Path, made: Mapping[str, bytes], *, replace: bool) -> None:
    """Write files by their names in a folder, and take away those that an earlier review left and this one has not."""
    check_folder(folder, replace=replace)
    with told(folder):
        _check_places(folder, made)
        new: list[Path] = []
        waiting = folder / f"{_UNFINISHED}{os.getpid()}"
        try:
            _make(folder, new)
            for name, data in made.items():
                (waiting / name).parent.mkdir(parents=True, exist_ok=True)
                (waiting / name).write_bytes(data)
            with uninterrupted(), _alone(folder):
                _put(folder, waiting, {name: _digest(data) for name, data in made.items()})
                new.clear()
        finally:
            shutil.rmtree(waiting, ignore_errors=True)
            for one in reversed(new):
                with suppress(OSError):  # somebody has put something into it: it stays
                    one.rmdir()


def _put(folder: Path, waiting: Path, digests: Mapping[str, str]) -> None:
    """All files into their places, the page last; then the last review's others away, and what killed runs have left."""
    known = ledger(folder)
    _write_ledger(
        folder, waiting, [*known.items(), *digests.items()]
    )  # for the next run, should this one be killed from here on
    for name in sorted(digests, key=lambda name: name == _LAST):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        os.replace(waiting / name, folder / name)
    _take_away(folder, {name: digest for name, digest in known.items() if name not in digests})
    _write_ledger(folder, waiting, digests.items())
    for left in folder.glob(f"{_UNFINISHED}*"):
        number = left.name.removeprefix(_UNFINISHED)
        if sys.platform != "win32" and number.isdigit() and not _runs(int(number)):
            shutil.rmtree(left, ignore_errors=True)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """No other run changes the folder meanwhile, where the system can lock it: the second one waits, and is whole."""
    if sys.platform == "win32":
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _runs(number: int) -> bool:
    """Is there a process of a number?"""
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # it is somebody else's
        return True
    return True


def _make(folder: Path, new: list[Path]) -> None:
    """A folder and those above it, those that were made added to new."""
    missing = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    for one in reversed(missing):
        one.mkdir()
        new.append(one)


def _check_places(folder: Path, made: Iterable[str]) -> None:
    """No link, pipe or folder may stand where a file of the review belongs, nor a link or a file where one of its folders does."""
    for name in made:
        for part in (name, *(str(parent) for parent in PurePosixPath(name).parents if str(parent) != ".")):
            path = folder / part
            if not os.path.lexists(path):
                continue
            if not (regular(path) if part == name else stat.S_ISDIR(path.lstat().st_mode)):
                kind = "file" if part == name else "folder"
                raise OutputError(
                    f"a {kind} of the review belongs there, and something else is there that no review made",
                    mend="Move it away, or give another folder with --into.",
                    file=label(path),
                )


def _take_away(folder: Path, old: Mapping[str, str]) -> None:
    """Files of an earlier review, where nobody has changed them, and the folders that they leave empty."""
    for name, digest in old.items():
        path = folder / name
        if regular(path) and _digest(path.read_bytes()) == digest:
            path.unlink()
            for above in PurePosixPath(name).parents:
                if str(above) != ".":
                    with suppress(OSError):  # not empty: it stays
                        (folder / above).rmdir()


def _foreign(folder: Path, known: Mapping[str, str]) -> list[str]:
    """Files of a folder that no review wrote, or that were changed after it did; other folders are named, not looked into."""
    own = {str(parent) for name in known for parent in PurePosixPath(name).parents}
    found = []
    for inside in sorted({".", *own}):
        if inside != "." and not (folder / inside).is_dir():
            continue
        for entry in sorted(os.scandir(folder / inside), key=lambda entry: entry.name):
            name = entry.name if inside == "." else f"{inside}/{entry.name}"
            ours = name == LEDGER or name.startswith(_UNFINISHED)
            is_own_folder = name in own and entry.is_dir(follow_symlinks=False)
            if not (ours or is_own_folder or _unchanged(folder / name, known.get(name))):
                found.append(name)
                if len(found) > 3:
                    return found
    return found


def _unchanged(path: Path, digest: str | None) -> bool:
    return digest is not None and regular(path) and _digest(path.read_bytes()) == digest


def ledger(folder: Path) -> dict[str, str]:
    """The files that the last review wrote into a folder, with their digests; names that would lead out of it are none.

    A name may stand there twice, where that review was killed: then the file that is there decides.
    """
    path = folder / LEDGER
    if not regular(path) or path.stat().st_size > _MOST_LEDGER:
        return {}
    known: dict[str, str] = {}
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        digest, _, name = line.partition("  ")
        inside = PurePosixPath(name)
        if not name or inside.is_absolute() or ".." in inside.parts:
            continue
        if name not in known or _unchanged(folder / name, digest):
            known[name] = digest
    return known


def _write_ledger(folder: Path, waiting: Path, lines: Iterable[tuple[str, str]]) -> None:
    (waiting / LEDGER).write_text("".join(f"{digest}  {name}\n" for name, digest in lines), encoding="utf-8")
    os.replace(waiting / LEDGER, folder / LEDGER)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
