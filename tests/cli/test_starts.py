"""What a command waits for: a refusal and a help page load no library that computes; a missing file is told as ever."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from commands import DEMO

from fuelsys.errors import FuelsysError
from fuelsys.load.designs.door import chosen, load_design
from fuelsys.load.formats.files import read
from fuelsys.report.drill.files import PAPERS
from fuelsys.rules.coverage.listed import SECTIONS
from fuelsys_cli import checklist, drill, starting
from fuelsys_cli.main import COMMANDS

HEAVY = [
    "numpy",
    "numba",
    "pydantic",
    "scipy",
    "pandas",
    "matplotlib",
    "jinja2",
    "trimesh",
    "manifold3d",
    "fluids",
    "rich",
]
# What a study and its rules do without until a design asks for it; numba itself loads scipy's head, and the mesh door manifold3d.
# A kernel that is kept brings no compiler's modules.
RARE = [
    "scipy.linalg",
    "scipy.optimize",
    "scipy.stats",
    "pandas",
    "matplotlib",
    "jinja2",
    "trimesh",
    "fluids",
    "numba.np.arrayobj",
]
# What is loaded in a process after all commands, after two refusals that read a design, and after what a study needs.
ASKED = f"""
import importlib, sys
from pathlib import Path
def told(names):
    print(*(name for name in names if name in sys.modules))
for name in {list(COMMANDS)!r}:
    importlib.import_module("fuelsys_cli." + name)
told({HEAVY!r})
from fuelsys_cli import starting
for path, tank in ((Path("mistyped.toml"), None), (Path({str(DEMO)!r}), "lef")):
    try:
        starting.on_design(path, tank)
    except Exception as fault:
        print(fault)
told({HEAVY!r})
import fuelsys.review, fuelsys.rules, fuelsys.report.text, numpy, fuelsys.kernels.alike
fuelsys.kernels.alike.equal_corners(numpy.eye(3))
told({RARE!r})
"""


def test_a_refusal_waits_for_no_library_that_computes() -> None:
    with pytest.raises(FuelsysError) as missing:
        load_design("mistyped.toml")
    with pytest.raises(FuelsysError) as unknown:
        chosen(load_design(DEMO), "lef")  # which keeps the kernels that it compiles
    done = subprocess.run([sys.executable, "-P", "-c", ASKED], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["", str(missing.value), str(unknown.value), "numpy pydantic", ""]


@pytest.mark.parametrize("name", ["mistyped.stl", "mistyped.step", "mistyped.xyz", "no folder/left.stl"])
def test_a_missing_mesh_is_told_as_its_reader_does(name: str) -> None:
    with pytest.raises(FuelsysError) as late:
        read(Path(name))
    with pytest.raises(FuelsysError) as early:
        starting.on_meshes(Path(name))
    assert str(early.value) == str(late.value)


def test_choices_that_are_written_twice_are_the_same() -> None:
    options = {option.name: option.type for command in (checklist, drill) for option in command.command.params}
    assert list(options["section"].choices) == [section.key for section in SECTIONS]
    assert list(options["paper"].choices) == list(PAPERS)
