"""Parts of the mesh rooms by hand: holes and their bounds, numbers too coarse, bodies told apart, what is said of shells."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
import solids

from fuelsys.errors import MeshError
from fuelsys.kernels import edges
from fuelsys.load.meshes import door, holes, interior, mending, mesh
from fuelsys.load.meshes.bench import Bench
from fuelsys.load.meshes.bodies import bodies
from fuelsys.load.meshes.mesh import judge
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.built.cavity import Cavity


def surface(vertices: Any, faces: Any, unit: str = "m") -> Surface:
    return Surface("x.stl", unit, np.asarray(vertices, dtype=float), np.asarray(faces, dtype=np.int32), ())


# --- holes


@pytest.mark.parametrize(
    ("size", "told"),
    [(1.0, 1.1), (1.01, 1.1), (1.1, 1.2), (1.11, 1.2), (9.9, 10.0), (0.123, 0.13), (123.0, 130.0), (0.0995, 0.1)],
)
def test_a_size_rounded_up(size: float, told: float) -> None:
    assert holes._rounded_up(size) == pytest.approx(told)
    assert holes._rounded_up(size) > size


def test_a_hole_and_a_slit() -> None:
    # A square of 2: its ball has the radius of half the diagonal. A slit of 2 within 0.1 of its chord: a rod with round ends.
    square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]])
    hole = holes.Hole.of(square, np.arange(4), 0.1)
    assert (hole.slit, hole.size, hole.middle.tolist()) == (False, pytest.approx(8.0**0.5), [1.0, 1.0, 0.0])
    assert hole.missing == pytest.approx(4.0 / 3.0 * np.pi * 2.0**1.5)
    thin = np.array([[0.0, 0, 0], [1, 0.1, 0], [2, 0, 0], [1, -0.1, 0]])
    for reach, slit in ((0.1, True), (0.0999, False)):
        found = holes.Hole.of(thin, np.arange(4), reach)
        assert (found.slit, found.size) == (slit, 2.0)
        assert found.missing == pytest.approx(
            np.pi * reach**2 * (2.0 + 4.0 / 3.0 * reach) if slit else 4.0 / 3.0 * np.pi
        )


def open_box(unit: str = "mm", *missing: int) -> Surface:
    vertices, faces = solids.box(100.0, 200.0, 50.0)
    return surface(vertices, np.delete(faces, missing, axis=0), unit)


def test_the_largest_of_the_holes_that_are_left_open_is_told() -> None:
    given = open_box("mm", 0, 1, 4, 5)  # floor and one wall: 100 x 200 mm, and what lies beside it
    with pytest.raises(MeshError) as fault:
        mending.mend(given, 0.0, 0.05)
    assert "larger than the 50 mm that may be closed, the largest" in fault.value.found
    with pytest.raises(MeshError, match="open, and none may be closed"):
        mending.mend(given, 0.0, 0.0)
    two = open_box("mm", 0, 1, 2, 3)  # floor and roof, 223.6 mm across each
    with pytest.raises(MeshError) as fault:
        mending.mend(two, 0.0, 0.05)
    assert (
        "2 holes are larger than the 50 mm that may be closed, the largest 223.6 mm across with 4 corners"
        in fault.value.found
    )
    assert '--fill "230 mm"' in fault.value.mend
    one = mending.mend(open_box("mm", 0, 1), 0.0, 0.23)
    assert one.health.volume_m3 == pytest.approx(1e-3)
    # A corner and the floor's hole: of different sizes, the larger is told.
    three = open_box("mm", 0, 1, 11)
    with pytest.raises(MeshError, match="the largest"):
        mending.mend(three, 0.0, 0.01)


@pytest.mark.parametrize(
    ("within", "held", "told"),
    [
        (0.0, 1.0, ""),
        (0.01, 1.0, ""),
        (0.3, 1.0, "may be up to 30 % of its volume"),
        (1.0, 1.0, "may be more than all of it"),
        (0.1, 0.0, "up to all of"),
    ],
)
def test_what_mending_leaves_in_doubt(within: float, held: float, told: str) -> None:
    assert told in mending._caution(within, held)
    assert bool(mending._caution(within, held)) == bool(told)


def test_a_face_without_area_is_taken_out() -> None:
    # A box of which one edge of the floor has a corner in its middle that only one of its two faces knows of.
    vertices, faces = solids.box(1.0, 1.0, 1.0)
    cut = [face for face in faces.tolist() if not {0, 1} <= set(face)]
    (one, two) = [face for face in faces.tolist() if {0, 1} <= set(face)]
    third = next(c for c in two if c not in (0, 1))
    turn = [0, 1] if two[(two.index(0) + 1) % 3] == 1 else [1, 0]
    split = [[turn[0], 8, third], [8, turn[1], third], [turn[1], 8, turn[0]]]
    given = surface(np.vstack([vertices, [0.5, 0.0, 0.0]]), [*cut, one, *split])
    assert given.faces.shape == (14, 3)
    mended = mending.mend(given, 0.0, 0.0)
    assert (mended.health.volume_m3, len(mended.surface.faces)) == (pytest.approx(1.0), 14)
    assert [change.what for change in mended.changes] == ["faces without area taken out"]
    assert mended.within_m3 == pytest.approx(0.0, abs=1e-12)
    bench = Bench(given, given.vertices, given.faces, np.zeros(9, dtype=np.bool_), 1.0, [])
    assert mending._flip(bench, np.array([], dtype=np.int64)) is False


def test_whether_closing_holes_made_faces_cross(monkeypatch: pytest.MonkeyPatch) -> None:
    for closed, crossing, told in (
        ("holes closed", 0, True),
        ("slits closed", 0, True),
        ("corners welded", 0, False),
        ("holes closed", 1, False),
    ):
        bench: Any = Made(changes=[Made(what=closed)], given=Made(vertices=0, faces=0), scale=1.0)
        monkeypatch.setattr(mending, "crossings", lambda *_, first, crossing=crossing: Made(n_crossing=crossing))
        assert mending._made_by_patches(bench) is told


# --- shells


@pytest.mark.parametrize("unit", ["m", "mm"])
@pytest.mark.parametrize("turned", [False, True])
def test_a_gap_is_told_in_the_file_s_unit_whichever_way_round(unit: str, turned: bool) -> None:
    """Two boxes of 5 L joined by a wall 0.05 mm wide at its thinnest: a slot of 0.05 mm between two blocks of a box."""
    scale = 1.0 if unit == "m" else 1e3
    outer = [(0.0, 0.0), (0.2, 0.0), (0.2, 0.1), (0.10005, 0.1), (0.10005, 0.02), (0.1, 0.02), (0.1, 0.1), (0.0, 0.1)]
    # The slot is fuel where the profile is turned: the block between is solid, so walls face one another over it.
    vertices, faces = solids.prism(outer, 0.2)
    given = surface(vertices * scale, faces[:, ::-1] if turned else faces, unit)
    assert mesh._narrow(given) == []  # the slot is outside
    inner = [(0.0, 0.0), (0.2, 0.0), (0.2, 0.1), (0.0, 0.1), (0.0, 0.05), (0.15, 0.05), (0.15, 0.00005), (0.0, 0.00005)]
    vertices, faces = solids.prism(inner, 0.2)
    (told,) = mesh._narrow(surface(vertices * scale, faces[:, ::-1] if turned else faces, unit))
    assert f"narrower than {'0.1 mm' if unit == 'mm' else '0.0001 m'} near (" in told
    x, y, z = (float(one) for one in told.split("near (")[1].split(")")[0].split(","))
    assert 0.0 <= x / scale <= 0.15
    assert 0.0 <= y / scale <= 0.0001
    assert abs(z / scale) <= 0.2


def test_what_is_said_of_shells() -> None:
    def found(*parts: Any) -> Any:
        vertices = np.vstack([part[0] for part in parts])
        counts = np.cumsum([0, *(len(part[0]) for part in parts)])
        faces = np.vstack([part[1] + off for part, off in zip(parts, counts[:-1], strict=True)]).astype(np.int32)
        return bodies(vertices, faces, edges.edges_of(faces))

    one = solids.box(1.0, 1.0, 1.0)
    flat = (
        np.array([[5.0, 0, 0], [6, 0, 0], [5, 1, 0], [5.5, 0.2, 0]]),
        np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [2, 3, 0]]),
    )
    far = (one[0] + np.array([9.0, 0.0, 0.0]), one[1])
    assert [text for text in found(one, flat).why_not() if "enclose" in text] == ["1 closed surface encloses no volume"]
    two = (flat[0] + np.array([0.0, 7.0, 0.0]), flat[1])
    assert [text for text in found(one, flat, two).why_not() if "enclose" in text] == [
        "2 closed surfaces enclose no volume"
    ]
    assert list(found(one, far).why_not()) == ["there are 2 separate bodies in it"]
    assert list(found(one).why_not()) == []
    assert found(one, far).volumes_m3.tolist() == pytest.approx([1.0, 1.0])
    inner = (one[0] * 0.3 + 0.3, one[1])
    (text,) = found(one, inner).why_not()
    assert str(text) == "1 closed surface inside it is no hollow in it (shell 2)"
    assert list(found(one, (inner[0], inner[1][:, ::-1])).why_not()) == []


def test_open_edges_that_hang_together_are_rims() -> None:
    given = open_box("mm", 0, 1)
    health = judge(given)
    assert (health.n_rims, [rim.edges for rim in health.rims]) == (1, [4])
    assert health.rims[0].size_m == pytest.approx(0.05**0.5)
    assert health.area_m2 == pytest.approx(0.05 - 0.02 + 0.02 * 0 + 2 * 0.02 - 0.02 + 0.0, abs=1.0)
    # A third face at an edge: the rims are still told, though no way round is known.
    three = surface(np.vstack([given.vertices, [0.0, 0.0, 99.0]]), np.vstack([given.faces, [[4, 5, 8]]]), "mm")
    assert judge(three).n_rims >= 1


# --- a file's numbers, bodies that are told apart


@pytest.mark.parametrize(
    ("raster", "unit", "told"),
    [
        # A box of 1 x 2 x 0.5: 7 of area, so 7 rasters of volume; a millionth of its size is too coarse.
        (0.0, "m", ""), (2e-7, "m", ""), (2.1e-5, "m", "within 150 mL only"), (1e-3, "m", "within 7 L only"), (1e-4, "m",
         "within 700 mL only"),
        (1e-3, "cm", "within 0.007 mL only"),
    ],
)  # fmt: skip
def test_numbers_that_are_too_coarse(raster: float, unit: str, told: str) -> None:
    vertices, faces = solids.box(1.0, 2.0, 0.5)
    raw: Any = Made(vertices=vertices, faces=faces, raster=raster)
    found = door._coarse(raw, unit)
    assert len(found) == bool(told)
    assert told in "".join(map(str, found))
    assert door._coarse(Made(vertices=vertices, faces=faces[:0], raster=1.0), "m") == ()


@pytest.mark.parametrize(
    ("names", "listed", "told"),
    [
        # Volumes (none: not sound), whether each lies in another, sizes.
        (("a",), [(1.0, False, 2.0)], "same"), (("a", "b"), [(1.0, False, 2.0)], "same"), (("a", "b"), [(None, False, 2.0), (None, False,
         1.0)], "same"),
        (("a", "b"), [(1.0, False, 2.0), (1.0, False, 1.0)], "several"), (("a", "b"), [(1.0, False, 2.0), (None, False, 1.0)], "several"),
        (("a", "b"), [(None, False, 2.0), (1.0, False, 1.0)], "Or pick one of its 2 bodies"), (("a", "b"), [(1.0, False, 2.0), (1.0, True,
         1.0)], "Or pick one of its 2"),
    ],
)  # fmt: skip
def test_bodies_that_a_file_tells_apart(
    names: tuple[str, ...], listed: list[Any], told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fuelsys.load.meshes import picking

    fault, several = MeshError("x", mend="Do y."), MeshError("several", mend="z")
    found = Made(
        bodies=[Made(volume_m3=held, inside=within, size_m=size) for held, within, size in listed],
        several=lambda file: several,
    )
    monkeypatch.setattr(picking, "listing", lambda *_: found)
    given: Any = Made(raw=Made(names=names), unit="m", file="x.stl")
    answer = door._told_apart(given, fault)
    assert answer is (fault if told == "same" else several if told == "several" else answer)
    if "Or" in told:
        assert (answer.found, told in answer.mend, answer.mend.startswith("Do y.")) == ("x", True, True)
    assert door._told_apart(Made(raw=None), fault) is fault


# --- bodies inside, layers


def cavity() -> Cavity:
    vertices, faces = solids.box(1.0, 1.0, 1.0)
    return Cavity.of(vertices + np.array([3.0, 4.0, 5.0]), faces.astype(np.int32))


def body(low: tuple[float, ...], size: tuple[float, ...], warnings: tuple[str, ...] = ()) -> Any:
    vertices, faces = solids.box(*size)
    return interior.Body("rib", vertices + np.array(low), faces.astype(np.int32), warnings)


def near(at_m: Any) -> str:
    return f"({at_m[0]:.2f}, {at_m[1]:.2f}, {at_m[2]:.2f})"


@pytest.mark.parametrize(
    ("low", "size", "taken_m3", "outside"),
    [((3.2, 4.2, 5.2), (0.2, 0.2, 0.2), 0.008, False), ((3.95005, 4.2, 5.2), (0.05, 0.05, 0.05), 1.24875e-4, True), ((3.9, 4.2, 5.2),
    (0.2, 0.2, 0.2), 0.004, True), ((3.8, 4.2, 5.2), (0.2, 0.2, 0.2),
     0.008, False)],
)  # fmt: skip
def test_what_a_body_takes_of_a_cavity(low: Any, size: Any, taken_m3: float, outside: bool) -> None:
    left = interior._without(cavity(), (body(low, size, ("odd",)),), near)
    assert left.gross_m3 == pytest.approx(1.0 - taken_m3)
    assert [(one.what, one.volume_m3) for one in left.taken] == [("rib, inside", pytest.approx(taken_m3))]
    assert len(left.notes) == 1 + outside


def test_a_body_that_lies_outside_or_parts_the_cavity() -> None:
    with pytest.raises(MeshError, match=r"all of it \(8 L\) lies outside the cavity, near \(5\.10, 4\.30, 5\.30\)"):
        interior._without(cavity(), (body((5.0, 4.2, 5.2), (0.2, 0.2, 0.2)),), near)
    with pytest.raises(MeshError, match="the bodies cut the cavity into"):
        interior._without(cavity(), (body((3.4, 3.9, 4.9), (0.2, 1.2, 1.2)),), near)
    with pytest.raises(MeshError, match="the bodies fill the cavity"):
        interior._without(cavity(), (body((2.9, 3.9, 4.9), (1.2, 1.2, 1.2)),), near)
    # A chip, less than a millionth of it, is left out; a millimetre wide it is a part.
    left = interior._without(cavity(), (body((3.0000009, 3.9, 4.9), (0.2, 1.2, 1.2)),), near)
    assert [one.what for one in left.taken] == ["rib, inside", "chips between bodies and wall"]
    assert left.taken[1].volume_m3 == pytest.approx(0.9e-6, rel=1e-3)
    assert left.gross_m3 == pytest.approx(0.8 - 0.9e-6)
    with pytest.raises(MeshError, match="the bodies cut the cavity into 2 parts"):
        interior._without(cavity(), (body((3.000002, 3.9, 4.9), (0.2, 1.2, 1.2)),), near)


def test_a_layer_takes_its_own_off() -> None:
    left = interior._layer(cavity(), 0.01, "sealant", near)
    assert left.gross_m3 == pytest.approx(0.98**3)
    assert (left.taken[-1].what, left.taken[-1].volume_m3, left.notes) == ("sealant", pytest.approx(1.0 - 0.98**3), ())
    with pytest.raises(MeshError, match=r"a layer of 600 mm fills the cavity"):
        interior._layer(cavity(), 0.6, "sealant", near)


def test_a_cavity_that_is_all_gap() -> None:
    vertices, faces = solids.box(1.0, 1.0, 0.00005)
    thin = Cavity.of(vertices, faces.astype(np.int32))
    with pytest.raises(MeshError, match=r"all of it is narrower than 0\.1 mm; it holds 50 mL"):
        interior._filled(thin, 1e-4, "narrow gaps", near)
