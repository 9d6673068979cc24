"""What commands load late, loaded once: a process that has imported this forks a process for each command, which has it all.

Nothing of an answer stays: the libraries and the compiled kernels are loaded by asking a little of the example.
"""

from __future__ import annotations

import gc
from pathlib import Path
from tempfile import TemporaryDirectory

import fluids.fittings  # noqa: F401
import rich.progress  # noqa: F401
import scipy.optimize
import scipy.stats  # noqa: F401
import xlsxwriter  # noqa: F401
from click.testing import CliRunner

import fuelsys_meshes
from fuelsys.analysis.sweeping import first, place_search, tolerance  # noqa: F401
from fuelsys.load.meshes import mending  # noqa: F401
from fuelsys.report.page import folder  # noqa: F401
from fuelsys_cli.main import COMMANDS, group

DEMO = str(Path(fuelsys_meshes.__file__ or "").with_name("taildragger.toml"))


def _ask(*arguments: str) -> None:
    done = CliRunner().invoke(group, arguments)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception


for part in first.PARTS.values():
    part()
for name in COMMANDS:
    _ask(name, "--help")
with TemporaryDirectory() as made:
    _ask("check", DEMO, "--no-failures")
    _ask("capacity", DEMO, "--tank", "header", "--form", "csv")
    _ask("levels", DEMO, "--tank", "header", "--volume-step", "2 L", "--picture", f"{made}/levels.svg")
    _ask("gauge", DEMO, "--tank", "left", "--error", "1 L", "--picture", f"{made}/gauge.png")
    _ask("dipstick", DEMO, "--tank", "left", "--into", f"{made}/stick.pdf")
gc.collect()
gc.freeze()
