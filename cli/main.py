"""The command `fuelsys`: finds its subcommands late, so that help and errors come at once, and words errors in one place."""

from __future__ import annotations

import atexit
import gc
import importlib
import signal
import sys
import threading
import traceback
from types import FrameType

import click

from fuelsys.errors import FuelsysError, meant
from fuelsys.questions import QUESTIONS
from fuelsys.stops import STOPS
from fuelsys_cli import streams

PROGRAM_FAULT = 70
_STOPPED = "stopped; nothing was left half-written"
# Subcommand -> its help line; its module of the same name is imported when it runs, for the numerical libraries take a second to
# load. A test holds each line to the command's own.
COMMANDS = {
    "new": "Write a design file to fill in, from a mesh of each tank's inside.",
    **{question.name: question.asks for question in QUESTIONS},
    "check": "Check the design against all rules, worst findings first.",
    "checklist": "Print what to see, test and write before flight, paragraph by paragraph, to tick and sign.",
    "rules": "Print the rules: what each checks, why, the mend and the source.",
    "review": "Write tables, pictures and a page to print into a folder.",
    "demo": "Write the review of the example aircraft, and its files.",
}


class LateGroup(click.Group):
    """A group whose subcommands are modules of this package, imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names, in the order of work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"fuelsys_cli.{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the arguments name, or the one that is meant."""
        if args[0] not in COMMANDS and not args[0].startswith("-"):
            ctx.fail(f'There is no command "{args[0]}". {meant(args[0], COMMANDS)}`fuelsys --help` lists them all.')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LateGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="fuelsys", prog_name="fuelsys", message="%(prog)s %(version)s")
def group() -> None:
    """Get a light aircraft's fuel system right before its tanks are closed.

    From a mesh of each tank's inside and a design file: capacity, unusable fuel, low-level switches, dipstick, routing.
    Computed quantities are verified by drain, fill and flow tests; local rules and licensed inspection decide.
    """


class _Interruption:
    """Remembers which signal stopped the program: libraries that it reaches in the middle may raise another error instead."""

    came = 0

    def __call__(self, number: int, frame: FrameType | None) -> None:
        self.came = number
        signal.default_int_handler(number, frame)

    @property
    def code(self) -> int:
        """What a program that a signal stopped ends with."""
        return 128 + (self.came or signal.SIGINT)


def _caused_by_interruption(fault: BaseException | None) -> bool:
    """Whether an error stands for an interruption: numba wraps one that comes in a kernel's call in a SystemError."""
    while fault is not None and not isinstance(fault, KeyboardInterrupt):
        fault = fault.__cause__ or fault.__context__
    return fault is not None


def main() -> None:
    """Run the command line; every error that a person can cause is one line on stderr and exit code 2."""
    # Libraries make a million objects that stay: looking through them costs a tenth of a start, and as much again at the end.
    gc.set_threshold(200_000, 20, 20)
    atexit.register(gc.freeze)
    interruption = _Interruption()
    if threading.current_thread() is threading.main_thread():
        for number in STOPS:
            if signal.getsignal(number) is not signal.SIG_IGN:  # as nohup leaves it
                signal.signal(number, interruption)
    try:
        streams.prepare()
        code = group.main(standalone_mode=False, terminal_width=max(20, min(80, streams.columns()) - 1))
    except FuelsysError as fault:
        for line in fault.lines:
            click.echo(line, err=True)
        code = 2
    except click.ClickException as fault:
        fault.show()
        code = fault.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo(_STOPPED, err=True)
        code = interruption.code
    except Exception as fault:  # noqa: BLE001  a fault of the program must not look like a finding (exit code 1)
        if interruption.came or _caused_by_interruption(fault):
            click.echo(_STOPPED, err=True)
            sys.exit(interruption.code)
        traceback.print_exc()
        click.echo("this is a fault of the program, not of your files: please report it with the lines above", err=True)
        code = PROGRAM_FAULT
    sys.exit(code if isinstance(code, int) else 0)
