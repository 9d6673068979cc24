"""Runs the README's example and quick tests with the lowest and with the newest versions that pyproject.toml allows.

python tests/lowest_versions.py            both, each in a fresh environment of its own (600 MB, removed afterwards)
python tests/lowest_versions.py lowest     one of them
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
QUICK = (
    "test_units", "test_bad_design_files", "test_starter", "test_commands", "test_mesh_formats", "test_mesh_scenes",
    "test_bad_mesh_files", "test_picking", "test_map_command", "test_laws", "test_drawings", "test_flow_laws",
    "test_filltest_command", "test_drill_files",
)  # fmt: skip
EXTRAS = ("cluster", "dxf")
TOOLS = ("pytest", "pytest-xdist", "hypothesis", "pint")
IGNORED = (".git", ".venv", "build", "*.egg-info", "__pycache__", ".mypy_cache", ".ruff_cache", ".hypothesis")


def bounds() -> dict[str, str]:
    """Each runtime dependency, the extras `cluster` and `dxf` included, and the lowest version that is promised."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    stated = (*project["dependencies"], *(one for extra in EXTRAS for one in project["optional-dependencies"][extra]))
    found = (re.match(r"([\w-]+)>=([\d.]+)", line) for line in stated)
    return {match[1]: match[2] for match in found if match}


def run(*command: object, folder: Path) -> None:
    """Run a command, its output on this terminal; the script ends where it fails."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(folder / "kernels")}
    done = subprocess.run([str(part) for part in command], cwd=folder, env=environment, check=False)
    if done.returncode:
        sys.exit(f"failed with {done.returncode}: {' '.join(str(part) for part in command)}")


def tried(which: str, folder: Path) -> str:
    """The versions with which the example and the tests ran, on one line."""
    source, python = folder / "source", folder / ".venv" / "bin" / "python"
    shutil.copytree(ROOT, source, ignore=shutil.ignore_patterns(*IGNORED))
    run(sys.executable, "-m", "venv", ".venv", folder=folder)
    held = folder / "held.txt"
    held.write_text("".join(f"{name}=={low}\n" for name, low in bounds().items() if which == "lowest"))
    run(python, "-m", "pip", "install", "-q", "-c", held, f"{source}[{','.join(EXTRAS)}]", *TOOLS, folder=folder)
    run(python.with_name("fuelsys"), "demo", folder=folder)
    if not (folder / "demo-review" / "index.html").is_file():
        sys.exit("the example's review has no page")
    tests = [next(source.glob(f"tests/**/{name}.py")) for name in QUICK]
    # Old libraries warn of their own old ways, which is no fault of ours.
    run(python, "-P", "-m", "pytest", "-q", "-n", "2", "-W", "ignore::DeprecationWarning", *tests, folder=source)
    listed = subprocess.check_output([python, "-m", "pip", "list", "--format", "json"], cwd=folder)
    versions = {package["name"].lower(): package["version"] for package in json.loads(listed)}
    return ", ".join(f"{name} {versions[name]}" for name in bounds())


def main() -> None:
    """Both, or the one that is named."""
    for which in sys.argv[1:] or ("lowest", "newest"):
        with tempfile.TemporaryDirectory() as folder:
            print(f"{which}: Python {sys.version.split()[0]}, {tried(which, Path(folder))}", flush=True)


if __name__ == "__main__":
    main()
