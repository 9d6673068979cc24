"""Options that several commands share, and how answers are printed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fuelsys import units
from fuelsys.errors import QuestionError, UnitError, meant
from fuelsys_cli import streams

if TYPE_CHECKING:
    from fuelsys.load.formats.raw import Choice
    from fuelsys.model.built.layout import Layout
    from fuelsys.model.found.findings import Finding
    from fuelsys.model.stated.attitude import Attitude
    from fuelsys.model.stated.design import Design
    from fuelsys.report.shown import Shown
    from fuelsys.report.table import Table

Function = TypeVar("Function", bound=Callable[..., Any])


class Named(click.Path):
    """A path, of which an empty text is none; the doors say what cannot be read."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """Text -> Path."""
        if str(value) == "":
            self.fail("the path is empty: give the name of a file or folder.", param, ctx)
        return Path(str(super().convert(value, param, ctx)))


PATH = Named(path_type=Path, readable=False)


class Quantity(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """A quantity with its unit, read as SI; wanted says in words what allowed holds it to."""

    def __init__(self, kind: str, allowed: Callable[[float], bool] = lambda _: True, wanted: str = "") -> None:
        self.kind = self.name = kind
        self.allowed, self.wanted = allowed, wanted

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Text -> SI; UnitError with the option's name."""
        if isinstance(value, float):
            return value
        option = param.opts[0] if param else ""
        try:
            value_si = units.parse(value, self.kind)
        except UnitError as fault:
            raise UnitError(fault.found, mend=fault.mend, field=option) from fault
        if not self.allowed(value_si):
            raise UnitError(f"found {units.shown(value)}", mend=f"Give {self.wanted}.", field=option)
        return value_si


LENGTH, VOLUME, ANGLE, SHARE = (Quantity(kind) for kind in ("length", "volume", "angle", "share"))
RESERVE = Quantity("time", lambda seconds: seconds > 0.0, "more than nothing")
ERROR = Quantity("volume", lambda volume_m3: volume_m3 > 0.0, "more than nothing")
TEMPERATURE = Quantity("temperature", lambda kelvin: 230.0 <= kelvin <= 360.0, "from -43 to 86 degC")
TILT = Quantity("angle", lambda angle_rad: abs(angle_rad) < math.pi / 2.0, "less than 90 deg either way")


class UnitOf(click.Choice):  # type: ignore[type-arg]  # generic from click 8.2 on
    """One of the units that a kind is shown in, however it is spelled; the help lists their names."""

    def __init__(self, kind: str, choices: Sequence[str]) -> None:
        super().__init__(choices)
        self.kind = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Text -> the unit's name as it is shown."""
        known, unit = units.UNITS[self.kind], units.named(str(value))
        same = [choice for choice in self.choices if known[choice] == known.get(unit)]
        return super().convert(same[0] if same else value, param, ctx)


VOLUME_UNIT, LENGTH_UNIT = UnitOf("volume", units.VOLUME_UNITS), UnitOf("length", units.LENGTH_UNITS)


def answers(function: Function) -> Function:
    """The options of every answer: its form and its units."""
    form = click.option(
        "--form",
        type=click.Choice(["table", "csv", "json"]),
        default="table",
        show_default=True,
        help="How to print it; JSON is SI.",
    )
    return form(in_units(function))


def of_mesh(function: Function) -> Function:
    """The options that pick a body of a mesh file, and say how finely true solids are facetted."""
    for option in (
        click.option("--body", default="", help="One of several bodies in a mesh file, by its name or number."),
        click.option(
            "--tolerance", type=LENGTH, help='How far facets may lie off the solid of a STEP file, such as "0.1 mm".'
        ),
    ):
        function = option(function)
    return function


def bare_mesh(file: Path, body: str, tolerance: float | None) -> Choice | None:
    """What was picked of a bare mesh; None of a design file, where that stands in the file."""
    from fuelsys.load.formats.raw import Choice

    if file.suffix.lower() != ".toml":
        return Choice(body, tolerance)
    if body or tolerance is not None:
        raise click.UsageError("--body and --tolerance are for a mesh; a design file says them in its [[tank]].")
    return None


def flown(function: Function) -> Function:
    """Whether a review flies the design with each single thing wrong."""
    text = "Fly the design with each single thing wrong, or two by one cause, too: some seconds; without, that is not checked."
    return click.option("--failures/--no-failures", default=True, show_default=True, help=text)(function)


def in_units(function: Function) -> Function:
    """The options for the units that are shown."""
    for option in (
        click.option(
            "--volume",
            "volume_unit",
            type=VOLUME_UNIT,
            help="Unit of volumes; the design's [show] or L without it.",
        ),
        click.option(
            "--length",
            "length_unit",
            type=LENGTH_UNIT,
            help="Unit of lengths; the design's [show] or mm without it, a bare mesh's own.",
        ),
    ):
        function = option(function)
    return function


def show(tables: Sequence[Table], form: str, *, cautions: bool = True) -> None:
    """Print tables in the form that was asked for, the usual cautions below those that are read; CSV's notes go to standard error."""
    from fuelsys.report import table, text

    if form == "json":
        click.echo(table.as_json(tables, _made()), nl=False)
    elif form == "csv":
        click.echo(table.as_csv(tables), nl=False)
        click.echo(text.notes(tables), nl=False, err=True)
    else:
        wide = streams.columns()
        click.echo(text.tables(tables, width=wide, colour=streams.coloured()), nl=False)
        if cautions:
            click.echo(text.cautions(wide), nl=False)


def _made() -> dict[str, Any]:
    """Version, time and the files behind the command that runs, each with its SHA-256."""
    from fuelsys.load.designs.inputs import behind
    from fuelsys.report.made import record

    context = click.get_current_context()
    given = (context.params[one.name] for one in context.command.params if isinstance(one, click.Argument) and one.name)
    named = [path for value in given for path in (value if isinstance(value, tuple) else (value,))]
    return record(tuple(one for path in named if isinstance(path, Path) for one in behind(path)), datetime.now())


def write(path: Path, content: str | bytes, *, replace: bool) -> None:
    """Write a file and say so, on stderr: the answer itself may go into a program."""
    from fuelsys.load.formats.files import label
    from fuelsys.report.files import write_file

    write_file(path, content, replace=replace)
    click.echo(f"wrote {label(path)}", err=True)


def units_of(volume_unit: str | None, length_unit: str | None, design: Design) -> Shown:
    """The units that were asked for, else those that a design states."""
    from fuelsys.report.shown import Shown

    return Shown(volume_unit or design.show.volume, length_unit or design.show.length)


def showing(layout: Layout, units_shown: Shown) -> Layout:
    """The layout with the units that were asked for as its design's own, for messages that a question of it raises."""
    from fuelsys.model.stated.design import Show

    show = Show(volume=units_shown.volume, length=units_shown.length)
    return dataclasses.replace(layout, design=layout.design.model_copy(update={"show": show}))


def units_of_mesh(volume_unit: str | None, length_unit: str | None, own: str | None) -> Shown:
    """The units that were asked for; lengths else in a bare mesh's own unit, or in mm."""
    from fuelsys.report.shown import Shown

    own = units.named(own or "")
    return Shown(volume_unit or "L", length_unit or (own if own in units.LENGTH_UNITS else "mm"))


def named_attitude(layout: Layout, name: str) -> Attitude:
    """An attitude of the envelope by its name."""
    for attitude in layout.design.envelope:
        if attitude.name == name:
            return attitude
    names = [attitude.name for attitude in layout.design.envelope]
    known = ", ".join(f'"{known}"' for known in names)
    mend = f"{meant(name, names)}Name one of {known}."
    raise QuestionError(f'there is no attitude "{name}"', mend=mend, file=layout.file, field="attitude")


def summary(found: Sequence[Finding]) -> str:
    """The findings in one line."""
    from fuelsys.report import text

    return text.counted(found)
