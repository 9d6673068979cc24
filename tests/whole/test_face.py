"""The package from Python: few names, loaded late, and what they give."""

from __future__ import annotations

import subprocess
import sys

import pytest
from commands import DEMO

import fuelsys


def test_a_design_is_checked_in_three_lines() -> None:
    study = fuelsys.study(fuelsys.read(str(DEMO)))
    found = fuelsys.findings(study)
    assert isinstance(study, fuelsys.Study)
    assert isinstance(study.layout, fuelsys.Layout)
    assert all(isinstance(one, fuelsys.Finding) for one in found)
    assert found[0].outcome is fuelsys.Outcome.FAIL
    assert study.tank("left").capacity.usable_m3 is not None


def test_what_is_wrong_is_one_error() -> None:
    with pytest.raises(fuelsys.FuelsysError, match=r"none\.toml: there is no such file"):
        fuelsys.read("none.toml")
    with pytest.raises(AttributeError, match="has no attribute 'levels'; it offers"):
        fuelsys.levels  # noqa: B018


def test_an_error_does_not_wait_for_the_libraries() -> None:
    asked = "import sys, fuelsys; fuelsys.FuelsysError; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", asked], check=False).returncode == 0


def test_every_name_is_there() -> None:
    assert all(getattr(fuelsys, name) is not None for name in fuelsys.__all__)
