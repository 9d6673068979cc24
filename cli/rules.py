"""`fuelsys rules`: the manual."""

from __future__ import annotations

import click

from fuelsys.errors import QuestionError, meant
from fuelsys_cli import streams


@click.command("rules")
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """Print the rules: what each checks, why, the mend and the source.

    NAME shows one rule alone.
    """
    from fuelsys.report import text
    from fuelsys.rules import ALL

    chosen = [rule for rule in ALL if name in (None, rule.name)]
    if not chosen:
        mend = f"{meant(name or '', [rule.name for rule in ALL])}`fuelsys rules` lists them all."
        raise QuestionError(f'there is no rule "{name}"', mend=mend)
    click.echo(text.manual(chosen, width=streams.columns()), nl=False)
