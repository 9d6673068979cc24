"""STEP files that are damaged, open, too large or none at all: each is refused in one line, whatever the library does."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fuelsys.errors import MeshError

pytest.importorskip("OCP.STEPCAFControl", reason='needs the extra "step" (cadquery-ocp-novtk)')

from OCP.BRep import BRep_Builder
from OCP.BRepPrimAPI import BRepPrimAPI_MakeSphere
from OCP.TopAbs import TopAbs_FACE
from OCP.TopoDS import TopoDS_Solid
from stepfiles import assembled, assert_closed, box, compound_of, shell_of, wing, written

from fuelsys.load.formats import brep, step, stepwork

ASKED = step._asked


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is done in this process, which is quicker."""
    monkeypatch.setattr(step, "_asked", lambda question, *about: stepwork.QUESTIONS[question](*about))


@pytest.fixture
def apart(_here: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is done in its own process, as always outside the tests: after some damaged files the library hangs."""
    monkeypatch.setattr(step, "_asked", ASKED)


def test_an_open_solid_is_refused() -> None:
    solid, builder = TopoDS_Solid(), BRep_Builder()
    builder.MakeSolid(solid)
    builder.Add(solid, shell_of(box(), left_out=1))
    with pytest.raises(
        MeshError, match=r"^it is open: 4 edges of its faces join no second face, the first near \(0, .*\) mm"
    ):
        step.read(written(solid))


def test_an_open_surface_is_refused() -> None:
    with pytest.raises(MeshError, match=r"^it is open: 4 edges of its faces join no second face"):
        step.read(written(shell_of(box(), left_out=1)))


def test_a_closed_surface_will_do() -> None:
    body = step.read(written(shell_of(box())))
    assert body.notes[0] == "it holds a closed surface, not a solid"
    assert_allclose(body.solid.volume_m3, 6e-3, rtol=1e-9)
    assert_closed(body)


def test_loose_faces_are_refused() -> None:
    with pytest.raises(MeshError, match=r"^there is no solid in it, only 6 surfaces"):
        step.read(written(compound_of(*brep.explored(box(), TopAbs_FACE))))


def test_facets_that_disagree_with_the_solid_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(brep, "measured", lambda shape: (6.1e6, 2.2e5, (0.0, 0.0, 0.0)))
    with pytest.raises(
        MeshError, match=r"^its facets hold 6 L, the true solid 6.1 L, and facets made for 0.05 mm cannot"
    ):
        step.read(written(box()))


def test_the_answer_from_its_own_process_is_the_same(apart: None, monkeypatch: pytest.MonkeyPatch) -> None:
    there = step.read(wing(), 1e-4, "header")
    body, _ = stepwork.facetted(wing(), 1e-4, "header")
    assert there.solid == body.solid
    np.testing.assert_array_equal(there.vertices, body.vertices)
    np.testing.assert_array_equal(there.faces, body.faces)
    assert [str(solid) for solid in step.solids(wing())] == [str(solid) for solid in stepwork.solids(wing())]


@pytest.mark.parametrize("tolerance_m", [0.0, -1.0, 9e-6, 3e-3, math.nan, math.inf])
def test_the_tolerance_has_limits(tolerance_m: float) -> None:
    with pytest.raises(MeshError, match=r"^tolerance: facets cannot be made for"):
        step.read(written(box()), tolerance_m)


HEADER = b"""ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('','',(''),(''),'','','');
FILE_SCHEMA(('CONFIG_CONTROL_DESIGN'));
ENDSEC;
"""


@pytest.mark.parametrize(
    ("data", "found"),
    [
        pytest.param(b"", "it does not begin with", id="nothing"),
        pytest.param(b"solid left\nendsolid left\n", "it does not begin with", id="another format"),
        pytest.param(
            b"ISO-10303-21;\nthis is a STEP file\nEND-ISO-10303-21;", "its text does not keep to", id="a claim"
        ),
        pytest.param(HEADER + b"DATA;\nENDSEC;\nEND-ISO-10303-21;\n", "there is nothing in it", id="no data"),
        pytest.param(HEADER, 'the text ends before "END-ISO-10303-21;"', id="header alone"),
    ],
)
def test_what_is_no_step_file(apart: None, data: bytes, found: str) -> None:
    with pytest.raises(MeshError, match=f"^{re.escape(found)}"):
        step.read(data)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999])
def test_a_file_cut_short(share: float) -> None:
    with pytest.raises(MeshError, match="the file is cut off"):
        step.read(wing()[: int(share * len(wing()))])


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_a_file_with_a_gap(apart: None, share: float) -> None:
    """A piece is missing in the middle, the end is there: the library would read on and at times crash."""
    start = int(share * len(wing()))
    with pytest.raises(MeshError, match=r"^\d+ entit(y is|ies are) at fault, the first"):
        step.solids(wing()[:start] + wing()[start + 2000 :])


def test_a_reference_to_nothing(apart: None) -> None:
    text = wing().decode()
    solid = re.search(r"(#\d+) = MANIFOLD_SOLID_BREP\('[^']*',(#\d+)\)", text)
    assert solid is not None
    with pytest.raises(MeshError, match=rf"at fault, the first \(Unresolved Reference, Ent.Id.{solid[1]} .*#999999"):
        step.read((text[: solid.start(2)] + "#999999" + text[solid.end(2) :]).encode())


def test_a_solid_too_large_for_its_facets() -> None:
    huge = BRepPrimAPI_MakeSphere(1e6).Solid()  # 1 km
    with pytest.raises(MeshError, match=r"^it is about 3\.54e\+03 m large, too large for facets made for 0\.05 mm"):
        step.read(written(huge))


def test_an_empty_assembly() -> None:
    with pytest.raises(MeshError, match=r"^there is no s"):
        step.read(assembled())


def test_a_file_without_a_unit() -> None:
    text = written(box()).decode()
    without, changed = re.subn(r"(GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\s*\()#\d+,", r"\1", text)  # the first is the length
    assert changed == 1
    with pytest.raises(MeshError, match=r"^it does not say its unit of length"):
        step.read(without.encode())


def test_nothing_is_printed(apart: None, capfd: pytest.CaptureFixture[str]) -> None:
    step.read(wing(), 1e-4, "header")
    assert capfd.readouterr() == ("", "")
