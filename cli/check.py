"""`fuelsys check`: the design against all rules."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from fuelsys import review
from fuelsys.load.design import load_design
from fuelsys.report import design_tables, shown, text


@click.command("check")
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help="Show what passes and what does not apply, too.")
@click.option(
    "--form", type=click.Choice(["table", "csv", "json"]), default="table", show_default=True, help="How to print it."
)
def command(design: Path, everything: bool, form: str) -> None:
    """Check the design against all rules, worst findings first.

    Exit code: 0 all is checked and passes; 1 something fails; 3 nothing fails, but there are cautions or rules that could
    not be checked; 2 the design could not be read.
    """
    found = review.findings(review.study(load_design(design)))
    if form == "json":
        click.echo(shown.as_json([design_tables.findings(found)]), nl=False)
    elif form == "csv":
        click.echo(shown.as_csv([design_tables.findings(found)]), nl=False)
    else:
        click.echo(text.findings(found, everything=everything, colour=sys.stdout.isatty()), nl=False)
        click.echo(text.cautions(), nl=False)
    click.get_current_context().exit(review.exit_code(found))
