"""A review made again from its own folder, and whether it is the same."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import click

from fuelsys.errors import QuestionError
from fuelsys_cli import options
from fuelsys_cli.progress import Steps

_NOT_AGAIN = "review.pdf"  # a browser's own: it writes its date into it


def again(folder: Path) -> bool:
    """Make a review again from the files that it keeps, say which of its own differ, and whether none does."""
    from fuelsys.report.page.folder import DESIGN, ledger

    told = _told(folder)
    listed = ledger(folder)
    wanted = {name: digest for name, digest in listed.items() if name != _NOT_AGAIN}
    made = {name: hashlib.sha256(data).hexdigest() for name, data in _made(folder, told).items()}
    made |= {name: wanted[name] for name in wanted if name.startswith(DESIGN)}
    touched = sorted(name for name, digest in listed.items() if _digest(folder / name) != digest)
    other = sorted(name for name in {*wanted, *made} if wanted.get(name) != made.get(name))
    for name in touched:
        click.echo(f"changed since it was written: {name}")
    for name in other:
        click.echo(f"comes out otherwise: {name}")
    if told["version"] != version("fuelsys"):
        click.echo(f"it was written by version {told['version']}; this is {version('fuelsys')}")
    if touched or other:
        click.echo(f"{folder}: not the same, {len({*touched, *other})} of {len(listed)} files")
        return False
    click.echo(f"{folder}: made again from its own files, the same: {len(made)} files, byte for byte")
    return True


def _told(folder: Path) -> dict[str, Any]:
    """What the review says of its making; QuestionError where it is none that can be made again."""
    from fuelsys.load.designs.inputs import inside
    from fuelsys.load.formats.files import label
    from fuelsys.report.page.folder import DESIGN

    try:
        told: dict[str, Any] = json.loads((folder / "study.json").read_text(encoding="utf-8"))
        files = [one["file"] for one in told["inputs"]]
        if not (told["asked"].keys() >= {"length", "volume", "explorer"} and files and told["version"]):
            raise KeyError
        datetime.fromisoformat(told["made"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise QuestionError(
            "this folder holds no review that says what it was made of",
            mend="Give a design file, or a folder that `fuelsys review` wrote.",
            file=label(folder),
        ) from fault
    gone = [name for name in files if not inside(name) or not (folder / DESIGN / name).is_file()]
    if gone:
        raise QuestionError(
            f"it does not keep {', '.join(map(label, gone))}, of which it was made",
            mend="Make it of a design whose meshes and sheets lie in its own folder or below.",
            file=label(folder),
        )
    return told


def _made(folder: Path, told: dict[str, Any]) -> dict[str, bytes]:
    """The review's files, made of what it keeps, as of its day."""
    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.page.contents import review_files
    from fuelsys.report.page.folder import DESIGN

    with Steps() as step:
        step("reading the design")
        layout = load_design(folder / DESIGN / told["inputs"][0]["file"])
        shown = options.units_of(told["asked"]["volume"], told["asked"]["length"], layout.design)
        failures = told["asked"].get("failures", False)
        study = review.study(layout, step, marks_in=shown.volume, failures=failures)
        found = review.findings(study)
        when, explorer = datetime.fromisoformat(told["made"]), told["asked"]["explorer"]
        return review_files(study, found, shown, when, version("fuelsys"), step, explorer)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
