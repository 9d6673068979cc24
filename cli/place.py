"""`fuelsys place`: where a low-level mark must sit for a target of minutes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fuelsys import review
from fuelsys.analysis.sweeping.place_search import search as search_places
from fuelsys.analysis.sweeping.stages import place_stages
from fuelsys.analysis.tank.placement import place
from fuelsys.errors import UnitError
from fuelsys.load.designs.amend import design_text, with_switches
from fuelsys.load.designs.door import load_design
from fuelsys.load.formats.files import label
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.stages import StagesAsked, StagesFound
from fuelsys.report.charts import place as place_chart
from fuelsys.report.drawing import files as pictures
from fuelsys.report.files import write_file
from fuelsys.report.shown import Shown
from fuelsys.report.tables import stages as stage_tables
from fuelsys.report.tables import sweeps as sweep_tables
from fuelsys.report.tables import tank as tables
from fuelsys_cli import options, sweeping
from fuelsys_cli.progress import Bar

_MOST_STAGES = 8
ROOM = options.Quantity("length", lambda length_m: 0.0 <= length_m <= 0.1, "from nothing to 100 mm")


class Stages(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """Targets with their unit, parted by commas, read as seconds."""

    name = "stages"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        """Text -> seconds; UnitError with the option's name."""
        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in str(value).split(",")]
        if len(parts) > _MOST_STAGES:
            mend = f"Give at most {_MOST_STAGES}."
            raise UnitError(f"found {len(parts)} stages", mend=mend, field="--stages")
        return tuple(options.RESERVE.convert(part, param, ctx) for part in parts)


@click.command("place")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank that the switch sits in.")
@click.option("--x", type=options.LENGTH, help="Where the switch's stem stands along the mesh's x axis.")
@click.option("--y", type=options.LENGTH, help="Its place along the mesh's y axis.")
@click.option("--search", type=options.LENGTH, help='Instead of x and y: try places all over the tank, every "25 mm".')
@click.option("--reserve", type=options.RESERVE, help='The target, such as "30 min".')
@click.option("--stages", type=Stages(), help='Several targets, placed together by --search: "30 min, 20 min, 10 min".')
@click.option(
    "--guaranteed", is_flag=True, help="At every flight attitude, not the normal one alone; --search always is."
)
@click.option("--mark-tolerance", type=ROOM, help="With --stages: how far a mark may sit off its place.")
@click.option("--differential", type=ROOM, help="With --stages: how far a float rises until its switch resets.")
@click.option("--clearance", type=ROOM, help="With --stages: the room that a float needs all round its mark.")
@click.option("--stem", type=ROOM, help="With --stages: the diameter of a switch's stem, which comes from the roof.")
@click.option("--plate", is_flag=True, help="With --stages: all marks on one vertical line, from one mounting plate.")
@click.option(
    "--into", type=options.PATH, help="With --stages: write the switches into this design file, DESIGN itself."
)
@sweeping.with_picture
@sweeping.by_workers
@options.answers
def command(
    design: Path, tank: str, x: float | None, y: float | None, search: float | None, reserve: float | None,
    stages: tuple[float, ...] | None, guaranteed: bool, mark_tolerance: float | None, differential: float | None,
    clearance: float | None, stem: float | None, plate: bool, into: Path | None, picture: Path | None, replace: bool,
    workers: int | None, cluster: str | None, form: str, volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Find where a low-level mark must sit for a target of minutes.

    At --x and --y: its height. With --search: the places of the plan where no flight attitude trips it long before the
    target; csv and json list them all. With --stages: all marks of a warning in stages, with their stems and bands.
    """
    asked = None
    if stages is not None:
        asked = StagesAsked(stages, mark_tolerance or 0.0, differential or 0.0, clearance, stem or 0.0, plate)
    elif plate or any(one is not None for one in (mark_tolerance, differential, clearance, stem, into)):
        raise click.UsageError(
            "--mark-tolerance, --differential, --clearance, --stem, --plate and --into need --stages."
        )
    _check((x, y), search, reserve, asked, picture)
    _check_into(into, design, mark_tolerance)
    sweeping.check_picture(picture, replace=replace)
    layout = review.read(design)
    (fitted,) = review.chosen(layout, tank)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    layout = options.showing(layout, shown)
    if search is None:
        placed = place(layout, fitted, (x or 0.0, y or 0.0), reserve or 0.0, guaranteed=guaranteed)
        options.show(tables.placement(placed, tables.mesh_axes(fitted), shown), form)
        return
    with sweeping.workers(workers, cluster, [fitted]) as (executor, ahead), Bar(f"tank {tank}") as told:
        if asked is None:
            found = search_places(layout, fitted, reserve or 0.0, search, executor, told, ahead)
        else:
            together = place_stages(layout, fitted, asked, search, executor, told, ahead)
    if asked is not None:
        _answer(fitted, together, shown, form, into=into, picture=picture, replace=replace)
        return
    if picture:
        drawn = pictures.as_bytes(place_chart.plan(fitted, found, shown), picture.suffix)
        options.write(picture, drawn, replace=replace)
    best = sweep_tables.places(found, tables.mesh_axes(fitted), shown, everything=form != "table")
    options.show([best, *(sweep_tables.around_best(found, shown) if form == "table" else ())], form)


def _check(
    line: tuple[float | None, float | None], search: float | None, reserve: float | None, asked: StagesAsked | None,
    picture: Path | None,
) -> None:  # fmt: skip
    """One question at a time."""
    if (reserve is None) == (asked is None):
        raise click.UsageError("Give --reserve, or --stages.")
    if asked is not None and (search is None or line != (None, None)):
        raise click.UsageError("--stages needs --search, and no --x or --y.")
    if (search is None) == (None in line) or (search is not None and line != (None, None)):
        raise click.UsageError("Give --x and --y, or --search.")
    if picture and search is None:
        raise click.UsageError("--picture needs --search.")


def _check_into(into: Path | None, design: Path, mark_tolerance: float | None) -> None:
    if into is not None and not mark_tolerance:
        raise click.UsageError("--into needs --mark-tolerance: a mark that sits lower leaves less than it promises.")
    if into is not None and into.absolute() != design.absolute():
        raise click.UsageError("--into changes the design file that is asked: give the same name twice.")


def _answer(
    fitted: FittedTank, found: StagesFound, shown: Shown, form: str, *, into: Path | None,
    picture: Path | None, replace: bool,
) -> None:  # fmt: skip
    """Draw the stages, print them, write them into the design."""
    if picture:
        drawn = pictures.as_bytes(place_chart.stages_plan(fitted, found, shown), picture.suffix)
        options.write(picture, drawn, replace=replace)
    options.show([stage_tables.stages(found, tables.mesh_axes(fitted), shown)], form)
    if into:
        entries = stage_tables.entries(found, shown)
        changed = with_switches(design_text(into), fitted.name, entries, label(into.name), replace=replace)
        write_file(into, changed, replace=True, check=load_design)
        click.echo(f"wrote {label(into)}: {len(entries)} switches of tank {fitted.name}", err=True)
