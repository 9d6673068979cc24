"""Options that several commands share, and how answers are printed."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from fuelsys import units
from fuelsys.errors import QuestionError, UnitError
from fuelsys.model.attitude import Attitude
from fuelsys.model.findings import Finding
from fuelsys.model.layout import Layout
from fuelsys.report import shown, text
from fuelsys.report.shown import Shown, Table

Function = TypeVar("Function", bound=Callable[..., Any])
PATH = click.Path(path_type=Path)


class Quantity(click.ParamType[float]):
    """A quantity with its unit, read as SI."""

    def __init__(self, kind: str) -> None:
        self.kind = self.name = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Text -> SI; UnitError with the option's name."""
        if isinstance(value, float):
            return value
        try:
            return units.parse(value, self.kind)
        except UnitError as fault:
            option = param.opts[0] if param else ""
            raise UnitError(fault.found, mend=fault.mend, field=option) from fault


LENGTH, VOLUME, TIME, ANGLE = (Quantity(kind) for kind in ("length", "volume", "time", "angle"))


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


def in_units(function: Function) -> Function:
    """The options for the units that are shown."""
    for option in (
        click.option(
            "--volume",
            "volume_unit",
            type=click.Choice(shown.VOLUME_UNITS),
            default="L",
            show_default=True,
            help="Unit of volumes.",
        ),
        click.option(
            "--length",
            "length_unit",
            type=click.Choice(shown.LENGTH_UNITS),
            help="Unit of lengths; mm without it, or a bare mesh's own.",
        ),
    ):
        function = option(function)
    return function


def show(tables: Sequence[Table], form: str, *, cautions: bool = True) -> None:
    """Print tables in the form that was asked for, the usual cautions below those that are read."""
    if form == "json":
        click.echo(shown.as_json(tables), nl=False)
    elif form == "csv":
        click.echo(shown.as_csv(tables), nl=False)
    else:
        click.echo(text.tables(tables, colour=sys.stdout.isatty()), nl=False)
        if cautions:
            click.echo(text.cautions(), nl=False)


def units_of(volume_unit: str, length_unit: str | None, own: str | None = None) -> Shown:
    """The units that were asked for; lengths else in a bare mesh's own unit, or in mm."""
    return Shown(volume_unit, length_unit or (own if own in shown.LENGTH_UNITS else None) or "mm")


def named_attitude(layout: Layout, name: str) -> Attitude:
    """An attitude of the envelope by its name."""
    for attitude in layout.design.envelope:
        if attitude.name == name:
            return attitude
    known = ", ".join(f'"{a.name}"' for a in layout.design.envelope)
    raise QuestionError(
        f'there is no attitude "{name}"', mend=f"Name one of {known}.", file=layout.file, field="attitude"
    )


def summary(found: Sequence[Finding]) -> str:
    """The findings in one line."""
    return text.counted(found)
