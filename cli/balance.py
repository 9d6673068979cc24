"""`fuelsys balance`: mass and centre of gravity of the fuel against its quantity."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys.errors import FuelsysError
from fuelsys_cli import options, starting


@click.command("balance")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank alone; all, and their path as they are emptied, without it.")
@options.answers
def command(design: Path, tank: str | None, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show the fuel's mass and centre of gravity against its quantity.

    For the weight-and-balance sheet: each tank from full to empty in the normal flight attitude, and all together in the order in
    which a flight empties them.
    """
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.flights.balance import burnt_path, tank_balance
    from fuelsys.analysis.flights.fly import fly
    from fuelsys.analysis.flights.setting import World
    from fuelsys.kernels.steady import NotSteadyError
    from fuelsys.load.designs.door import chosen
    from fuelsys.report.tables import balance as balance_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    tables = [balance_tables.tank(layout, one, tank_balance(layout, one), shown) for one in chosen(layout, tank)]
    if tank is None:
        try:
            tables.append(balance_tables.path(layout, burnt_path(layout, fly(World.of(layout))), shown))
        except (FuelsysError, NotSteadyError) as fault:
            why = f"{fault.found}. {fault.mend}" if isinstance(fault, FuelsysError) else "no steady flow in the lines"
            click.echo(f"the path of all tanks together is not computed: {why}", err=True)
    options.show(tables, form)
