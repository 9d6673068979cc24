"""STEP files of several solids: each is listed, one is picked, none is lost without a word."""

from __future__ import annotations

import re

import pytest
from numpy.testing import assert_allclose

from fuelsys.errors import MeshError

pytest.importorskip("OCP.STEPCAFControl", reason='needs the extra "step" (cadquery-ocp-novtk)')

from OCP.TopLoc import TopLoc_Location
from stepfiles import PI, assembled, assert_closed, box, compound_of, translation, wing, written

from fuelsys.load.formats import step, stepwork


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is done in this process, which is quicker."""
    monkeypatch.setattr(step, "_asked", lambda question, *about: stepwork.QUESTIONS[question](*about))


def test_an_assembly_lists_its_solids() -> None:
    left, header = step.solids(wing())
    assert (left.number, left.name) == (1, "left tank")
    assert (header.number, header.name) == (2, "header")
    assert_allclose([left.volume_m3, header.volume_m3], [6e-3, PI * 50**2 * 200 * 1e-9], rtol=1e-9)
    assert_allclose(header.centroid, (1000.0, 0.0, 100.0), atol=1e-6)
    assert str(left) == '1 "left tank" 6 L about (50, 100, 150) mm'


@pytest.mark.parametrize("pick", ["header", "2"])
def test_one_is_picked_by_name_or_number(pick: str) -> None:
    body = step.read(wing(), 1e-4, pick)
    assert body.solid.name == "header"
    assert_allclose(body.vertices.min(axis=0), (950.0, -50.0, 0.0), atol=0.1)
    assert_closed(body)


@pytest.mark.parametrize(
    ("pick", "found"),
    [
        ("", "2 solids can be read in it"),
        ("right tank", 'body: 0 solids named "right tank" can be read in it'),
        ("3", 'body: 0 solids named "3" can be read in it'),
    ],
)
def test_the_person_picks(pick: str, found: str) -> None:
    listed = r'1 "left tank" 6 L about \(50, 100, 150\) mm; 2 "header" 1\.571 L about \(1000, 0, 100\) mm'
    with pytest.raises(MeshError, match=f"^{re.escape(found)}: {listed}. Pick one by its name or number: --body NAME"):
        step.read(wing(), pick=pick)


def test_one_shape_placed_twice_under_one_name() -> None:
    tank = box()
    data = assembled(("tank", tank, (0.0, 0.0, 0.0)), ("tank", tank, (0.0, 1000.0, 0.0)))
    with pytest.raises(
        MeshError, match=r'^body: 2 solids named "tank" can be read in it: 1 "tank" 6 L .* 2 "tank" 6 L'
    ):
        step.read(data, pick="tank")
    assert step.read(data, pick="2").vertices[:, 1].min() == 1000.0


def test_solids_of_one_part_go_by_number() -> None:
    other = box(10.0, 10.0, 10.0)
    other.Move(TopLoc_Location(translation(500.0, 0.0, 0.0)))
    listed = step.solids(written(compound_of(box(), other)))
    assert_allclose([solid.volume_m3 for solid in listed], [6e-3, 1e-6], rtol=1e-9)
    assert len({solid.name for solid in listed}) == 2


def test_no_solid_is_lost_silently() -> None:
    """A solid that stands in the file but in none of its parts: the library leaves it out without a word."""
    text = wing().decode()
    solid = re.search(r"(#\d+) = MANIFOLD_SOLID_BREP", text)
    assert solid is not None
    broken, changed = re.subn(rf"(ADVANCED_BREP_SHAPE_REPRESENTATION\('',\(#\d+),{solid[1]}\)", r"\1)", text)
    assert changed == 1
    with pytest.raises(MeshError, match=r'^1 solid can be read in it, 1 cannot: 1 "header" 1.571 L'):
        step.read(broken.encode())
    assert step.read(broken.encode(), pick="header").notes[0] == "1 solid of the file could not be read as such"
