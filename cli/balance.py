"""`fuelsys balance`: mass and centre of gravity of the fuel against its quantity."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fuelsys.errors import FuelsysError
from fuelsys_cli import options, starting, sweeping

if TYPE_CHECKING:
    from fuelsys.model.found.balance import Loaded


@click.command("balance")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank alone; all, and their path as they are emptied, without it.")
@sweeping.with_picture
@options.answers
def command(
    design: Path, tank: str | None, picture: Path | None, replace: bool, form: str, volume_unit: str | None,
    length_unit: str | None,
) -> None:  # fmt: skip
    """Show the fuel's mass and centre of gravity against its quantity.

    For the weight-and-balance sheet: each tank from full to empty in the normal flight attitude, and all together in the order in
    which a flight empties them.
    """
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.flights.balance import burnt_path, loaded, tank_balance
    from fuelsys.analysis.flights.fly import fly
    from fuelsys.analysis.flights.setting import World
    from fuelsys.kernels.steady import NotSteadyError
    from fuelsys.load.designs.door import chosen
    from fuelsys.report.tables import balance as balance_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    alone = [(one, tank_balance(layout, one)) for one in chosen(layout, tank)]
    tables, path = [balance_tables.tank(layout, one, given, shown) for one, given in alone], None
    loads: tuple[Loaded, ...] = ()
    if tank is None:
        try:
            path = burnt_path(layout, fly(World.of(layout)))
            tables.append(balance_tables.path(layout, path, shown))
            loads = loaded(layout, path)
            tables += [balance_tables.limits(review.weighed(layout), shown)] if loads else []
        except (FuelsysError, NotSteadyError) as fault:
            why = f"{fault.found}. {fault.mend}" if isinstance(fault, FuelsysError) else "no steady flow in the lines"
            click.echo(f"the path of all tanks together is not computed: {why}", err=True)
    if picture is not None:
        from fuelsys.report.charts import balance as balance_chart
        from fuelsys.report.drawing import files as pictures

        drawn = balance_chart.balance(layout, [given for _, given in alone], path, shown, loads)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    options.show(tables, form)
