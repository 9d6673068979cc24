"""`fuelsys mesh`: the health of a mesh, and mending it openly."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import click

from fuelsys import units
from fuelsys.errors import BodiesError, MeshError
from fuelsys_cli import options, starting, sweeping

_IN_DOUBT = 3


@click.command("mesh", context_settings={"allow_extra_args": True})
@click.argument("file", type=options.PATH)
@click.option("--unit", help="Unit of the mesh: mm, cm, m, in or ft; not needed where its format says it.")
@options.of_mesh
@click.option("--picture", type=options.PATH, help="Draw where the faults are into this PNG or SVG file.")
@click.option("--mend", "mending", is_flag=True, help="Mend it, list every change, and write the result with --into.")
@click.option("--weld", type=options.LENGTH, default="0 mm", help='Join loose corners within this, such as "0.01 mm".')
@click.option("--fill", type=options.LENGTH, default="0 mm", help='Close holes up to this size, such as "5 mm".')
@click.option("--inside", is_flag=True, help="Of a tank's wall take the inner shell.")
@click.option("--into", type=options.PATH, help="The new PLY file for the mended mesh.")
@click.option("--replace", is_flag=True, help="Write over files that are there already.")
@click.option(
    "--volume",
    "volume_unit",
    type=options.VOLUME_UNIT,
    default="L",
    show_default=True,
    help="Unit of volumes.",
)
@click.option(
    "--form",
    type=click.Choice(["table", "csv", "json"]),
    default="table",
    show_default=True,
    help="How to print it; JSON is SI.",
)
def command(
    file: Path, unit: str | None, body: str, tolerance: float | None, picture: Path | None, mending: bool, weld: float,
    fill: float, inside: bool, into: Path | None, replace: bool, volume_unit: str, form: str,
) -> None:  # fmt: skip
    """Examine a mesh: is it a sound cavity, what is wrong and where; mend it.

    Exit code: 0 it can be used as a cavity (mended, with --mend), 1 it cannot, 2 it could not be read or mended, 3 it can be
    used with caution: a warning says why, such as that more than 1 % of its volume was mended. FILE itself is never changed.
    """
    _check(file, mending, weld, fill, inside, into, picture)
    starting.on_meshes(file)

    from fuelsys.load.formats.ply import MENDED
    from fuelsys.load.formats.raw import Choice
    from fuelsys.load.meshes import mesh as health
    from fuelsys.load.meshes.mending import mend
    from fuelsys.report.files import check_free
    from fuelsys.report.meshfile import ply_text
    from fuelsys.report.tables import mesh as mesh_tables

    sweeping.check_picture(picture, replace=replace)
    if into:
        check_free(into, replace=replace)
    try:
        given, left_out = health.read(file, unit, Choice(body, tolerance))
    except MeshError as fault:
        _show_solids(file, fault, volume_unit, form)
        raise
    found = health.judge(given, left_out)
    if picture:
        from fuelsys.report.charts import mesh as fault_pictures
        from fuelsys.report.drawing import files as pictures

        drawn = fault_pictures.picture(found, given.vertices * units.scale(given.unit), given.faces)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    tables = mesh_tables.health(found, volume_unit)
    code = (_IN_DOUBT if found.in_doubt else 0) if found.usable else 1
    if into:
        mended = mend(given, weld, fill, inside=inside, left_out=left_out)
        after = mesh_tables.health(dataclasses.replace(mended.health, file=into.name), volume_unit, "mended-")
        tables += [
            mesh_tables.changes(mended, given.file, volume_unit),
            *after,
        ]
        comments = (mesh_tables.origin(mended, MENDED, given.file), f"unit {given.unit}")
        options.write(into, ply_text(mended.surface.vertices, mended.surface.faces, comments), replace=replace)
        code = _IN_DOUBT if mended.health.in_doubt else 0
    options.show(tables, form, cautions=found.usable or into is not None)
    click.get_current_context().exit(code)


def _show_solids(file: Path, fault: MeshError, volume_unit: str, form: str) -> None:
    """The solids of a file where none or no single one was picked, before the refusal says so."""
    from fuelsys.load.meshes import mesh as health
    from fuelsys.report.tables import mesh as mesh_tables

    if isinstance(fault, BodiesError) and (found := health.solids(file)):
        options.show([mesh_tables.solids(found, fault.file, volume_unit)], form, cautions=False)


def _check(
    file: Path, mending: bool, weld: float, fill: float, inside: bool, into: Path | None, picture: Path | None
) -> None:
    """Options that do not fit together."""
    extra = click.get_current_context().args
    if mending and into is None:
        name = extra[0] if len(extra) == 1 else f"{file.stem}-mended.ply"
        raise click.UsageError(f"--mend needs a new PLY file to write: add --into {Path(name).with_suffix('.ply')}.")
    if extra:
        raise click.UsageError(f"One mesh at a time: what is {' '.join(extra)}?")
    if into and not mending:
        raise click.UsageError("--into needs --mend.")
    if into and into.suffix.lower() != ".ply":
        raise click.UsageError(f"The mended mesh is written as PLY: name it {into.with_suffix('.ply')}.")
    if not mending and (weld or fill or inside):
        raise click.UsageError("--weld, --fill and --inside need --mend.")
    if weld < 0.0 or fill < 0.0:
        raise click.UsageError("--weld and --fill must not be negative.")
    if any(path is not None and path.resolve() == file.resolve() for path in (picture, into)):
        raise click.UsageError(f"{file} is the mesh itself, which is never changed: give another name.")
