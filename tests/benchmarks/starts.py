"""Prints how much processor time commands take on the example, as ratios to importing numpy, numba and pydantic alone.

python tests/benchmarks/starts.py [COMMAND ...]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory

TIMES = 7
BASE = "import numpy, numba, pydantic"
PROGRAM = "from fuelsys_cli.main import main; main()"
ASKED = ("capacity", "levels", "switches", "unusable", "dipstick", "check")


def questions(names: list[str], design: str) -> dict[str, list[str]]:
    """What is timed: a name -> the arguments of a python process."""
    asked: dict[str, list[str]] = {"import numpy, numba, pydantic": ["-c", BASE]}
    if not names:
        for words in (
            ["levels", "mistyped.toml"],
            ["levels", design, "--form", "x"],
            ["levels", design, "--tank", "x"],
        ):
            asked[f"refused: {' '.join(Path(word).name for word in words)}"] = ["-c", PROGRAM, *words]
        asked["check --help"] = ["-c", PROGRAM, "check", "--help"]
    return asked | {name: ["-c", PROGRAM, name, design] for name in names or ASKED}


def seconds(arguments: list[str], folder: str) -> float:
    """Processor time of one process, its own and the system's; modules are compiled, as an installer leaves them."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(folder, "pyc"))}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = os.times()
    subprocess.run([sys.executable, *arguments], cwd=folder, capture_output=True, check=False, env=environment)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def main() -> None:
    """Run all of them in turn, several times, and print the medians."""
    with resources.as_file(resources.files("fuelsys_meshes")) as meshes, TemporaryDirectory() as folder:
        asked = questions(sys.argv[1:], str(meshes / "taildragger.toml"))
        found: dict[str, list[float]] = {name: [] for name in asked}
        for name, arguments in [*asked.items()] * (TIMES + 1):
            found[name].append(seconds(arguments, folder))
    medians = {name: statistics.median(times[1:]) for name, times in found.items()}  # the first fills the caches
    base = next(iter(medians.values()))
    for name, median in medians.items():
        print(f"{median:6.2f} s {median / base:5.2f}  {name}")


if __name__ == "__main__":
    main()
