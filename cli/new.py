"""`fuelsys new`: a design file to fill in."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("new")
@click.argument("meshes", metavar="MESH...", type=options.PATH, nargs=-1, required=True)
@click.option("--unit", help="Unit of the meshes: mm, cm, m, in or ft; not needed where its format says it.")
@options.of_mesh
@click.option(
    "--axes", help='Where x, y and z of the meshes point, such as "aft, right, up"; to be filled in without it.'
)
@click.option("--into", type=options.PATH, help="The file to write; design.toml beside the first mesh without it.")
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
def command(
    meshes: tuple[Path, ...],
    unit: str | None,
    body: str,
    tolerance: float | None,
    axes: str | None,
    into: Path | None,
    replace: bool,
) -> None:
    """Write a design file to fill in, from a mesh of each tank's inside."""
    if body and len(meshes) > 1:
        raise click.UsageError(
            "--body picks one body of one mesh file; give the files one at a time, or state body in the design."
        )
    starting.on_meshes(*meshes)

    from fuelsys.load.designs.starter import starters
    from fuelsys.load.formats.raw import Choice
    from fuelsys.model.words import as_read
    from fuelsys.report.files import write_file

    path = into or meshes[0].with_name("design.toml")
    text, told = starters(meshes, unit, axes, path.parent, Choice(body, tolerance))
    write_file(path, text, replace=replace)
    for line in told:
        click.echo(as_read(line))
    click.echo(f"wrote {path}: fill in what is marked FILL IN, then run: fuelsys check {path}")
