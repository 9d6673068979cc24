"""`fuelsys fly`: the design flown until the engine gets air, as it should be and with one thing wrong."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fuelsys.errors import QuestionError
from fuelsys_cli import options, starting, sweeping
from fuelsys_cli.progress import Bar

if TYPE_CHECKING:
    from fuelsys.model.found.fly import Failing


def severity(one: Failing) -> int:
    """The exit code that a failure asks for."""
    if one.flown is None:
        return 3
    return 0 if not one.marked else 1 if one.least_s is None else 3


@click.command("fly")
@click.argument("design", type=options.PATH)
@click.option(
    "--failures", is_flag=True, help="Fly it with each single thing wrong: which lamp warns, and how long before."
)
@click.option(
    "--from",
    "from_s",
    type=options.RESERVE,
    help='With --failures: when it goes wrong, such as "60 min"; else at once.',
)
@sweeping.with_picture
@options.answers
def command(
    design: Path, failures: bool, from_s: float | None, picture: Path | None, replace: bool, form: str,
    volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Fly the design until the engine gets air: what is in each tank, and what each lamp is worth.

    It flies the [[flight]] of the design file, or from full at the normal flight attitude and the reserve flow. With --failures
    the exit code is 1 where one stops the engine with no warning, 3 where one gives less than ten minutes or cannot be computed.
    """
    if from_s is not None and not failures:
        raise click.UsageError("--from needs --failures.")
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design)

    from fuelsys import review
    from fuelsys.analysis.flights.failures import failures as all_failures
    from fuelsys.analysis.flights.failures import failures_together
    from fuelsys.analysis.flights.fly import fly
    from fuelsys.analysis.flights.setting import World
    from fuelsys.kernels.steady import NotSteadyError
    from fuelsys.report.tables import design as design_tables
    from fuelsys.report.tables import fly as flight_tables
    from fuelsys.report.tables import reserves

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    layout = options.showing(layout, shown)
    world = World.of(layout)
    try:
        flown = fly(world)
    except NotSteadyError as fault:
        found = "no flight can be computed: no steady flow was found in the lines"
        raise QuestionError(found, mend="Check bores, lengths and curves of pumps.", file=layout.file) from fault
    if picture:
        from fuelsys.report.charts import fly as flight_chart
        from fuelsys.report.drawing import files as pictures

        drawn = flight_chart.timeline(flown, shown)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    if not failures:
        study = review.study(layout)
        unusable = design_tables.worst_together(study)
        options.show(flight_tables.flight(flown, shown, unusable, reserves.not_placarded_m3(study)), form)
        return
    with Bar("failures") as told:
        wrong = all_failures(world, flown, from_s or 0.0, told)
    with Bar("two by one cause") as told:
        both, more = failures_together(world, flown, from_s or 0.0, told)
    tables = [flight_tables.failures(wrong, flown, from_s or 0.0, shown)]
    tables += [flight_tables.together(both, more, from_s or 0.0, shown)] if both else []
    tables += flight_tables.changes([*wrong, *both], shown)
    options.show(tables, form)
    click.get_current_context().exit(max((severity(one) for one in (*wrong, *both)), default=0, key=(0, 3, 1).index))
