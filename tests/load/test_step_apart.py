"""STEP's geometry library may be missing, broken, crash or hang: each ends in one line. Needs no such library."""

from __future__ import annotations

import importlib.machinery
import importlib.util
from pathlib import Path

import pytest

from fuelsys.errors import MeshError
from fuelsys.load.formats import step


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(MeshError) as refusal:
        step.read(b"ISO-10303-21;")
    assert refusal.value.found == "STEP is read by a geometry library that is not installed"
    assert refusal.value.mend == 'Install it with pip install "fuelsys[step]", or export the surface as STL.'


@pytest.mark.parametrize(
    ("library", "said"),
    [
        pytest.param(
            "raise ImportError('libGL.so.1: no such file')", ' ("ImportError: libGL.so.1: no such file")', id="broken"
        ),
        pytest.param("import os; os.abort()", ": it crashed", id="crashes"),
        pytest.param("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", ": it crashed", id="segfault"),
    ],
)
def test_a_library_that_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, library: str, said: str) -> None:
    stand_in(library, tmp_path, monkeypatch)
    with pytest.raises(MeshError) as refusal:
        step.solids(b"ISO-10303-21;")
    assert refusal.value.found == f"the geometry library failed on it{said}"
    assert refusal.value.mend == "Export it again, or export the surface as STL."


def test_a_library_that_hangs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in("import time; time.sleep(3600)", tmp_path, monkeypatch)
    monkeypatch.setattr(step, "_MOST_SECONDS", 3.0)
    with pytest.raises(MeshError, match=r"^the geometry library did not finish in 0\.05 min"):
        step.solids(b"ISO-10303-21;")


def stand_in(library: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A library of the same name that does what it is told as soon as it is imported."""
    (folder / "OCP").mkdir()
    (folder / "OCP" / "__init__.py").write_text(library)
    monkeypatch.setenv("PYTHONPATH", str(folder))
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: importlib.machinery.ModuleSpec(name, None))
