"""The stages of `fuelsys place`: their options, and what is done with the answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from math import pi
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fuelsys.errors import UnitError
from fuelsys_cli import options

if TYPE_CHECKING:
    from fuelsys.model.built.layout import FittedTank, Layout
    from fuelsys.model.found.place import Built
    from fuelsys.model.found.stages import StagesAsked, StagesFound
    from fuelsys.report.shown import Shown

Function = TypeVar("Function", bound=Callable[..., Any])
_MOST_STAGES = 8
_DENSITY = options.Quantity("density", lambda kg_m3: 500.0 <= kg_m3 <= 1200.0, "from 0.5 to 1.2 kg/L")
_LEAN = options.Quantity("angle", lambda angle_rad: 0.0 < angle_rad <= pi / 2.0, "more than 0, and 90 deg at most")
_ROOM = options.Quantity("length", lambda length_m: 0.0 <= length_m <= 0.1, "from nothing to 100 mm")


class Stages(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """Targets with their unit, parted by commas, read as seconds."""

    name = "stages"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        """Text -> seconds; UnitError with the option's name."""
        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in str(value).split(",")]
        if len(parts) > _MOST_STAGES:
            raise UnitError(f"found {len(parts)} stages", mend=f"Give at most {_MOST_STAGES}.", field="--stages")
        return tuple(options.RESERVE.convert(part, param, ctx) for part in parts)


class Float(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """A float's mass, diameter and height with their units, parted by commas, read as SI."""

    name = "float"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float, float]:
        """Text -> kg, m, m; UnitError with the option's name."""
        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in str(value).split(",")]
        if len(parts) != 3:
            found = f"found {len(parts)} figures"
            raise UnitError(found, mend='Give mass, diameter and height: "12 g, 30 mm, 40 mm".', field="--float")
        kinds = ("mass", "length", "length")
        above = [options.Quantity(kind, lambda si: si > 0.0, "more than nothing") for kind in kinds]
        mass, wide, high = (one.convert(part, param, ctx) for one, part in zip(above, parts, strict=True))
        return mass, wide, high


def in_stages(function: Function) -> Function:
    """The options of stages, and of the switches."""
    for option in (
        click.option("--into", type=options.PATH, help="With --stages: write the switches into the design file, named again."),
        click.option("--plate", is_flag=True, help="With --stages: all marks on one vertical line, from one mounting plate."),
        click.option("--stem", type=_ROOM, help="With --stages: the diameter of a switch's stem, which comes from the roof."),
        click.option("--clearance", type=_ROOM, help="With --stages: the room that a float needs all round its mark."),
        click.option("--delay", type=options.RESERVE, help="How long after the trip the lamp lights."),
        click.option("--max-tilt", type=_LEAN, help="The most tilt at which the switch works."),
        click.option("--set-in", type=_DENSITY, help='What the float\'s mark was found in, such as water: "1 kg/L".'),
        click.option("--float", type=Float(), help='Mass, diameter and height of the float: "12 g, 30 mm, 40 mm".'),
        click.option("--differential", type=_ROOM, help="With --stages: how far a float rises until its switch resets."),
        click.option("--mark-tolerance", type=_ROOM, help="How far a mark may sit off its place."),
        click.option("--stages", type=Stages(), help='Several targets, placed together by --search: "30 min, 20 min, 10 min".'),
    ):  # fmt: skip
        function = option(function)
    return function


def check(
    given: Mapping[str, Any],
    design: Path,
    line: tuple[float | None, float | None],
    search: float | None,
    reserve: float | None,
) -> None:
    """One question at a time, and nothing written that promises more than it keeps."""
    only = ("differential", "clearance", "stem", "into")
    if given["stages"] is None and (given["plate"] or any(given[one] is not None for one in only)):
        raise click.UsageError("--differential, --clearance, --stem, --plate and --into need --stages.")
    if given["set_in"] and not given["float"]:
        raise click.UsageError("--set-in needs --float: else it is not known what another liquid does to the mark.")
    if (reserve is None) == (given["stages"] is None):
        raise click.UsageError("Give --reserve, or --stages.")
    if given["stages"] is not None and (search is None or line != (None, None)):
        raise click.UsageError("--stages needs --search, and no --x or --y.")
    into = given["into"]
    if into is not None and not given["mark_tolerance"]:
        raise click.UsageError("--into needs --mark-tolerance: a mark that sits lower leaves less than it promises.")
    if into is not None and into.absolute() != design.absolute():
        raise click.UsageError("--into changes the design file that is asked: give the same name twice.")


def asked_of(given: Mapping[str, Any], layout: Layout) -> StagesAsked:
    """What was asked of the stages and their switches."""
    from fuelsys.model.found.stages import StagesAsked
    from fuelsys.model.stated.fittings import SwitchFloat

    body = None
    if given["float"]:
        mass_kg, wide_m, high_m = given["float"]
        body = SwitchFloat.model_construct(mass_kg=mass_kg, diameter_m=wide_m, height_m=high_m)
        fuel = layout.design.fuel
        lightest = min(fuel.density_kg_m3, *(fuel.density_range_kg_m3 or ()), given["set_in"] or fuel.density_kg_m3)
        if body.sinks_below_kg_m3 >= lightest:
            found = f"the float sinks in {lightest / 1e3:.3g} kg/L"
            raise UnitError(found, mend="Give mass and size of the float alone, without its stem.", field="--float")
    return StagesAsked(
        given["stages"] or (),
        given["mark_tolerance"],
        given["differential"],
        given["clearance"],
        given["stem"] or 0.0,
        given["plate"],
        body,
        given["set_in"],
        given["max_tilt"],
        given["delay"],
    )


def built_of(given: Mapping[str, Any], layout: Layout) -> Built:
    """The switch that one mark is placed for."""
    from fuelsys.model.built.layout import NO_FLOAT, Rides
    from fuelsys.model.found.place import AS_DRAWN, Built

    switch = AS_DRAWN.switch.model_copy(update=asked_of(given, layout).stated)
    return Built(switch, Rides.of(switch, layout.design.fuel) or NO_FLOAT, 1e-4)  # as marks are shown


def place(
    layout: Layout,
    fitted: FittedTank,
    given: Mapping[str, Any],
    spacing_m: float,
    executor: Executor | None,
    told: Callable[[int, int], None],
    ahead: int,
) -> StagesFound:
    """The stages, placed together."""
    from fuelsys.analysis.sweeping.stages import place_stages

    return place_stages(layout, fitted, asked_of(given, layout), spacing_m, executor, told, ahead)


def answer(
    fitted: FittedTank, found: StagesFound, shown: Shown, form: str, *, into: Path | None, picture: Path | None, replace: bool
) -> None:  # fmt: skip
    """Draw the stages, print them, write them into the design."""
    from fuelsys.load.designs.amend import design_text, with_switches
    from fuelsys.load.designs.door import load_design
    from fuelsys.load.formats.files import label
    from fuelsys.report.charts import place as place_chart
    from fuelsys.report.drawing import files as pictures
    from fuelsys.report.files import write_file
    from fuelsys.report.tables import place as place_tables
    from fuelsys.report.tables import shared as shared_tables
    from fuelsys.report.tables import stages as stage_tables

    if picture:
        drawn = pictures.as_bytes(place_chart.stages_plan(fitted, found, shown), picture.suffix)
        options.write(picture, drawn, replace=replace)
    told = stage_tables.stages(found, shared_tables.mesh_axes(fitted), shown)
    options.show(place_tables.warned([told], fitted), form)
    if into:
        entries = stage_tables.entries(found, shown)
        changed = with_switches(design_text(into), fitted.name, entries, label(into.name), replace=replace)
        write_file(into, changed, replace=True, check=load_design)
        click.echo(f"wrote {label(into)}: {len(entries)} switches of tank {fitted.name}", err=True)
