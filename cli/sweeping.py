"""What the commands that sweep share: their workers, the picture that they may draw, and a range of angles."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fuelsys import units
from fuelsys.errors import QuestionError, UnitError
from fuelsys_cli import options

if TYPE_CHECKING:
    from fuelsys.model.built.layout import FittedTank

Function = TypeVar("Function", bound=Callable[..., Any])
Workers = tuple[Executor | None, int]  # and how many batches of theirs may be in flight


def by_workers(function: Function) -> Function:
    """The options that say who computes."""
    for option in (
        click.option(
            "--cluster",
            metavar="ADDRESS",
            help="Compute on a Dask cluster, by its scheduler's address (extra: cluster).",
        ),
        click.option(
            "--workers",
            type=click.IntRange(1),
            help="Threads that compute; without it one for each core, for small meshes a single one, which is quicker.",
        ),
    ):
        function = option(function)
    return function


def with_picture(function: Function) -> Function:
    """The options of the picture."""
    for option in (
        click.option("--replace", is_flag=True, help="Write over a picture that is there already."),
        click.option("--picture", type=options.PATH, help="Draw it into this PNG or SVG file."),
    ):
        function = option(function)
    return function


def check_picture(picture: Path | None, *, replace: bool) -> None:
    """Before long work: the picture's name says what it is, and may be written."""
    if picture is None:
        return
    from fuelsys.report.files import PICTURES, check_free

    if picture.suffix.lower() not in PICTURES:
        raise click.UsageError(f'--picture: "{picture.name}" is neither a .png nor a .svg file.')
    check_free(picture, replace=replace)


@contextmanager
def workers(number: int | None, cluster: str | None, tanks: Iterable[FittedTank]) -> Iterator[Workers]:
    """Who computes: threads of this machine, or a cluster; when they are left, nothing of theirs runs or waits."""
    from fuelsys.analysis.sweeping import sweeps

    if cluster is None:
        number = number or sweeps.threads_for(max(len(tank.cavity.faces) for tank in tanks))
        with sweeps.threads(number) as executor:
            yield executor, sweeps.AHEAD * number
        return
    try:
        from distributed import Client  # an optional extra
    except ImportError as fault:
        raise QuestionError(
            "this installation cannot reach a cluster", mend='Install the extra "cluster".', field="--cluster"
        ) from fault
    try:
        client = Client(cluster, timeout="10s")
    except Exception as fault:  # whatever the cluster's library throws at an address that it cannot use
        reason = "" if isinstance(fault, OSError | ValueError) else f" ({fault})"
        raise QuestionError(
            f"no scheduler answers at {units.shown(cluster)}{reason}",
            mend='Give its address, such as "tcp://scheduler:8786".',
            field="--cluster",
        ) from fault
    with client:
        yield client.get_executor(), sweeps.AHEAD * max(1, sum(client.ncores().values()))


class Angles(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """From one angle to another, with their unit, read as radians."""

    name = "angles"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        """Text -> radians, rising; UnitError with the option's name."""
        if isinstance(value, tuple):
            return value
        option = param.opts[0] if param else ""
        first, dots, last = str(value).partition("..")
        mend = 'Write it as "-15..15 deg".'
        if not dots:
            raise UnitError(f"found {units.shown(value)}, which is no range", mend=mend, field=option)
        try:
            high, unit = units.split(last, "angle")
            low = units.parse(f"{first.strip()} {unit}", "angle")
        except UnitError as fault:
            raise UnitError(
                f"found {units.shown(value)}, which is no range of angles", mend=mend, field=option
            ) from fault
        found = (low, units.to_si(high, unit, "angle"))
        if not found[0] < found[1]:
            raise UnitError(f"found {units.shown(value)}, which does not rise", mend=mend, field=option)
        if max(abs(angle) for angle in found) > math.pi / 2.0:
            raise UnitError(
                f"found {units.shown(value)}, beyond 90 deg", mend="Give angles up to 90 deg.", field=option
            )
        return found
