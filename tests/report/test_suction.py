"""How far fuel is from boiling against altitude: its law, its picture, and the command as a person uses it."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import DEMO, run
from numpy.testing import assert_allclose
from rule_cases import study_of

from fuelsys.analysis.lines.suction import TEMPERATURES_K, boils_above_m, suctions
from fuelsys.analysis.lines.vapour import air_pressure_pa, hot_vapour_pa, vapour_pressure_pa
from fuelsys.errors import QuestionError
from fuelsys.report.charts.flow import margins
from fuelsys.report.shown import Shown


def test_the_margin_is_air_and_line_less_vapour() -> None:
    """At the ceiling the rule's own figures; at sea level 101,325 Pa of air (ISO 2533)."""
    study = study_of({})
    (one,) = suctions(study.layout, study.flows, TEMPERATURES_K)
    assert one.worst.lowest_pa == min(at.lowest_pa for at in one.fed.at if at.lowest_pa is not None)
    assert study.flows.air_pa is not None
    assert study.flows.vapour_pa is not None
    hot = one.margins_pa[-1]
    assert_allclose(hot[-1], study.flows.air_pa + one.worst.lowest_pa - study.flows.vapour_pa, rtol=1e-12)
    assert_allclose(hot[-1], 5590.0, atol=10.0)
    assert_allclose(
        one.margins_pa[0][0], 101325.0 + one.worst.lowest_pa - vapour_pressure_pa(49e3, 2.0, 288.15), rtol=1e-6
    )
    assert (one.margins_pa[:, 1:] < one.margins_pa[:, :-1]).all()  # less air, less margin
    assert (one.margins_pa[1:] < one.margins_pa[:-1]).all()  # hotter fuel, less margin


def test_the_altitude_from_which_on_it_boils() -> None:
    study = study_of({"aircraft.ceiling": "15000 ft"})
    (one,) = suctions(study.layout, study.flows, TEMPERATURES_K)
    assert not one.assumed_ceiling
    above_m = boils_above_m(one, 2)
    assert above_m is not None
    assert one.worst.lowest_pa is not None
    vapour = hot_vapour_pa("avgas", None)
    assert vapour is not None
    assert_allclose(air_pressure_pa(above_m) + one.worst.lowest_pa, vapour, atol=5.0)
    assert boils_above_m(one, 0) is None


def test_each_curve_is_named_beside_its_end() -> None:
    study = study_of({"aircraft.ceiling": "15000 ft"})
    figure = margins(suctions(study.layout, study.flows, TEMPERATURES_K), Shown(length="in"))
    texts = [text for axes in figure.axes for text in axes.texts]
    words = " ".join(text.get_text() for text in texts)
    assert "59 °F:" in words
    assert "psi left" in words
    assert "boils above 1" in words
    assert "worst at" in words
    boxes = [text.get_window_extent() for text in texts]
    assert not [1 for k, one in enumerate(boxes) for two in boxes[:k] if one.overlaps(two)]
    assert min(box.x0 for box in boxes) >= 0.0


def test_vapour_that_is_not_known_is_asked_for() -> None:
    study = study_of({"fuel.kind": "mogas"})
    with pytest.raises(QuestionError, match="season"):
        suctions(study.layout, study.flows, TEMPERATURES_K)


def test_the_command(tmp_path: Path) -> None:
    done = run("flow", str(DEMO), "--picture", "s.svg", "--temperature", "35 degC", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "35 °C" in (tmp_path / "s.svg").read_text(encoding="utf-8")
    assert "Air through the vents" in done.stdout
    assert "Fuel that comes into full tanks" in done.stdout
    refused = run("flow", str(DEMO), "--temperature", "35 degC", folder=tmp_path)
    assert refused.returncode == 2
    assert "--picture" in refused.stderr
