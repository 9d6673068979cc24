"""The package from Python: few names, loaded late, and what they give."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

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


def test_the_uses_of_the_tool_in_a_few_lines_each(tmp_path: Path) -> None:
    header = fuelsys.cavity(DEMO.with_name("header.stl"), unit="mm")
    layout = fuelsys.read(DEMO)
    study = fuelsys.study(layout)
    held = study.tank("header").capacity
    assert header.gross_m3 == pytest.approx(held.gross_m3, rel=1e-12)

    mark = fuelsys.place(layout, "header", "100 mm", "80 mm", "10 min")
    assert min(one.minutes for one in mark.at) == pytest.approx(10.0, abs=1e-6)

    tables = fuelsys.tables(study, volume="US gal", length="in")
    stick = tables["left-dipstick"].frame()
    assert list(stick.columns[:3]) == ["quantity [US gal]", "usable [US gal]", "from the stick's bottom [in]"]
    marks = study.tank("left").dipstick
    assert marks is not None
    assert stick["quantity [US gal]"].to_numpy() == pytest.approx(
        [one.volume_m3 / 3.785411784e-3 for one in marks.marks]
    )
    assert "<caption>Dipstick of tank left" in tables["left-dipstick"]._repr_html_()

    left = fuelsys.unusable_over(layout, "left", [0.0, 5.0], [-7.0, 0.0, 7.0])
    cruise = next(one for one in held.unusable.at if one.attitude.name == "cruise")
    assert left.shape == (2, 3)
    one = fuelsys.unusable_over(layout, "header", [math.degrees(cruise.attitude.pitch_rad)], [0.0])
    assert one[0, 0] == pytest.approx(cruise.sustained_m3, abs=1e-12)

    drawn = fuelsys.drawings(study)["left"]
    assert "Arrangement" in drawn
    assert all(drawing._repr_svg_().startswith("<svg") for drawing in drawn.values())
    with pytest.raises(fuelsys.FuelsysError):
        fuelsys.tables(study, length="L")


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
