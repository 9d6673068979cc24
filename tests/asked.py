"""A command as a person types it, run in this process: what it prints, or the line with which it refuses."""

from __future__ import annotations

import json
from typing import Any

from click.testing import CliRunner

from fuelsys.errors import FuelsysError
from fuelsys_cli.main import group

Row = dict[str, Any]


def printed(*arguments: object, code: int = 0) -> str:
    """What a command prints."""
    done = CliRunner().invoke(group, [str(argument) for argument in arguments])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done.stdout


def tables(*arguments: object, code: int = 0) -> dict[str, tuple[list[Row], list[str]]]:
    """Rows and notes of the tables that a command answers with, by key."""
    answer = json.loads(printed(*arguments, "--form", "json", code=code))
    return {table["key"]: (table["rows"], table["notes"]) for table in answer["tables"]}


def refusal(*arguments: object) -> str:
    """The one line with which a command refuses."""
    done = CliRunner().invoke(group, [str(argument) for argument in arguments])
    assert isinstance(done.exception, FuelsysError), done.output
    (line,) = done.exception.lines
    return line
