"""`fuelsys check`: the design against all rules."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, streams


@click.command("check")
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help="Show what passes and what does not apply, too.")
@click.option(
    "--failures",
    is_flag=True,
    help="Fly the design with each single thing wrong, or two by one cause, too: some seconds more.",
)
@options.answers
def command(
    design: Path, everything: bool, failures: bool, form: str, volume_unit: str | None, length_unit: str | None
) -> None:
    """Check the design against all rules, worst findings first.

    The first line says whether the tanks may be closed.

    Exit code: 0 all is checked and passes; 1 something fails; 3 nothing fails, but there are cautions or rules that could
    not be checked; 2 the design could not be read.
    """
    starting.on_design(design)

    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.report import text
    from fuelsys.report.tables import design as design_tables
    from fuelsys.report.verdict import verdict

    study = review.study(load_design(design), failures=failures)
    found = review.findings(study)
    shown = options.units_of(volume_unit, length_unit, study.layout.design)
    if form == "table":
        wide, colour = streams.columns(), streams.coloured()
        click.echo(text.verdict(verdict(study, found), width=wide, colour=colour), nl=False)
        click.echo(text.findings(found, shown, width=wide, everything=everything, colour=colour), nl=False)
        click.echo(text.cautions(wide), nl=False)
    else:
        options.show([design_tables.findings(found, shown)], form)
    click.get_current_context().exit(review.exit_code(found))
