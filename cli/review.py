"""`fuelsys review`: everything about a design in a folder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from functools import partial
from pathlib import Path

import click

from fuelsys.errors import FuelsysError
from fuelsys_cli import options, starting, watching
from fuelsys_cli.again import again
from fuelsys_cli.progress import Steps


@click.command("review")
@click.argument("design", type=options.PATH)
@click.option("--into", type=options.PATH, help="The folder to write; NAME-review here without it.")
@click.option("--replace", is_flag=True, help="Write into a folder that holds other files, and over changed ones.")
@click.option(
    "--explorer/--no-explorer",
    default=None,
    help="The page with its attitude explorer or without; with it up to 70 000 triangles, where nothing is said.",
)
@options.flown
@click.option("--pdf", is_flag=True, help="The page as review.pdf, too, printed by an installed browser.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="The PDF's paper.")
@click.option("--watch", is_flag=True, help="Write it anew whenever the design or one of its meshes is saved.")
@click.option("--serve", is_flag=True, help="The same, and a page on this machine alone that follows in a browser.")
@options.in_units
def command(
    design: Path,
    into: Path | None,
    replace: bool,
    explorer: bool | None,
    failures: bool,
    pdf: bool,
    paper: str,
    watch: bool,
    serve: bool,
    volume_unit: str | None,
    length_unit: str | None,
) -> None:
    """Write tables, pictures and a page to print into a folder.

    Exit code: 0 once it is written, whatever it found; its first line says whether the tanks may be closed, and `fuelsys
    check` ends with a code for that.

    The files that they were made of are kept in it. Given the folder of a review instead, make it again from those and say
    whether it is the same.
    """
    if design.is_dir() and (design / "study.json").exists():
        starting.compile_first()
        if not again(design):
            raise click.exceptions.Exit(1)
        return
    starting.on_design(design)

    from fuelsys.report.page import printing
    from fuelsys.report.page.folder import check_folder

    if pdf:
        printing.browser()
    folder = into or Path(f"{design.stem}-review")
    check_folder(folder, replace=replace)
    asked = partial(written, design, folder, volume_unit, length_unit, failures=failures)
    write = partial(asked, replace=replace, explorer=explorer, paper=paper if pdf else None)
    if watch or serve:
        _follow(design, folder, write, serve=serve)
    else:
        write()


def written(
    design: Path,
    folder: Path,
    volume_unit: str | None,
    length_unit: str | None,
    *,
    failures: bool,
    replace: bool,
    explorer: bool | None = None,
    paper: str | None = None,
) -> list[Path]:
    """Write the review and say so: the files that it rests on."""
    from fuelsys import review
    from fuelsys.load.designs import inputs
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.page.folder import DESIGN, write_review
    from fuelsys.report.verdict import verdict

    with Steps() as step:
        step("reading the design")
        layout = load_design(design)
        shown = options.units_of(volume_unit, length_unit, layout.design)
        study = review.study(layout, step, marks_in=shown.volume, failures=failures)
        found = review.findings(study)
        kept, outside = inputs.to_keep(design, layout)
        files = {f"{DESIGN}{name}": data for name, data in kept.items()}
        write_review(
            folder, study, found, shown, files=files, replace=replace, explorer=explorer, paper=paper, progress=step
        )
    click.echo(verdict(study, found).headline)
    click.echo(options.summary(found))
    _say(folder, f"{DESIGN}{design.name}", outside)
    return [design.parent / name for name in inputs.named(design, layout.design)]


def _say(folder: Path, design: str, outside: Sequence[str]) -> None:
    """Where the review is, and what is not in it."""
    from fuelsys.load.formats.files import label
    from fuelsys.report import workbook

    if not workbook.installed():
        click.echo(workbook.MISSING)
    click.echo(f"wrote {folder}: open {folder / 'index.html'}; its design is {folder / design}")
    if outside:
        names = ", ".join(label(name) for name in outside)
        click.echo(f"not kept in it, being outside the design's folder: {names}; it cannot be made again from itself")


def _follow(design: Path, folder: Path, write: Callable[[], list[Path]], *, serve: bool) -> None:
    """Write a review, and again whenever a file that it rests on is saved; a save that cannot be read leaves the last one."""
    from fuelsys.report.page.serving import served

    before = watching.state([design])
    before = watching.known(write(), before)
    with served(folder) if serve else nullcontext() as server:
        if server:
            click.echo(f"follows in a browser on this machine: {server.address}")
        click.echo("waiting for the next save; Ctrl-C ends it")
        while True:
            before = watching.wait(before)
            try:
                before = watching.known(write(), before)
            except FuelsysError as fault:
                click.echo("\n".join((*fault.lines, f"{folder} still shows the design as it was before")), err=True)
                continue
            if server:
                server.written += 1
