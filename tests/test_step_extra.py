"""STEP without its extra: one line says what to install, and nothing else needs the library."""

from __future__ import annotations

import subprocess
import sys

WITHOUT = """
import sys
sys.modules["OCP"] = None  # as if it were not installed
import fuelsys.load.design, fuelsys.load.files, fuelsys.load.mesh
from fuelsys.errors import MeshError
try:
    import fuelsys.load.step
except MeshError as fault:
    print(fault)
"""


def test_one_line_says_what_to_install() -> None:
    ran = subprocess.run([sys.executable, "-c", WITHOUT], capture_output=True, text=True, check=True)
    said, mend = ran.stdout.splitlines()[0].split("). ")
    assert said.startswith("STEP is read by a geometry library that cannot be loaded (")
    assert "OCP" in said
    assert mend == 'Install it with pip install "fuelsys[step]", or export the surface as STL.'
    assert len(ran.stdout.splitlines()) == 1
    assert ran.stderr == ""
