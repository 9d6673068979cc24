"""Parts of the load room by hand: one cause of many faults, twins, sheets that changed, seams, bodies in and through one another."""

from __future__ import annotations

import hashlib
from pathlib import Path
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
import solids

from fuelsys.errors import BodiesError, DesignError, MeshError
from fuelsys.kernels import edges
from fuelsys.load.designs import crosscheck, elsewhere, inputs, mirror, stated
from fuelsys.load.designs import measured as tested
from fuelsys.load.formats.raw import Raw
from fuelsys.load.meshes import picking, soundness
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.components import Pump, Selector, Valve
from fuelsys.model.stated.design import Tank

# --- places that nearly all lie outside


def tank(unit: str = "m", axes: str = "aft, right, up", turn: Any = None) -> FittedTank:
    """0.5 x 0.4 x 0.1 m, from its mesh's origin on."""
    design = Tank.model_validate(
        {"name": "main", "mesh": "main.stl", "unit": unit, "axes": axes, "position": ["0 m"] * 3}
    )
    vertices, faces = solids.box(0.5, 0.4, 0.1)
    return FittedTank(
        design, Cavity.of(vertices, faces.astype(np.int32)), np.eye(3) if turn is None else turn, np.zeros(3), {}
    )


INSIDE = np.array([[0.1, 0.1, 0.05], [0.2, 0.3, 0.02], [0.4, 0.1, 0.09], [0.45, 0.39, 0.01]])


def cause(points: Any, outside: int | None = None, **more: Any) -> tuple[str, str]:
    one = tank(**more)
    found = elsewhere.one_cause(
        one, one.cavity, ("tank", 0), np.array(points), len(points) if outside is None else outside, np.eye(3), 1e-3
    )
    return ("", "") if found is None else (found.found, found.mend)


@pytest.mark.parametrize(
    ("count", "outside", "told"),
    [
        (4, 4, "all its 4 places"),
        (4, 3, "3 of its 4 places"),
        (5, 4, "4 of its 5"),
        (5, 3, ""),
        (2, 2, ""),
        (3, 3, "all its 3"),
        (8, 6, "6 of its 8"),
        (8, 5, ""),
    ],
)
def test_from_how_many_places_one_cause_is_told(count: int, outside: int, told: str) -> None:
    points = np.resize(INSIDE, (count, 3)) * [1.0, -1.0, 1.0]
    assert cause(points, outside)[0].startswith(told)
    assert bool(cause(points, outside)[0]) == bool(told)


def test_what_would_put_them_inside() -> None:
    assert (
        "All would lie in it with y of the other sign: is main.stl the mesh of the other side? main.stl spans x 0 to 0.5"
        in cause(INSIDE * [1, -1, 1])[1]
    )
    assert "with x of the other sign: is main.stl a mesh whose x points that way?" in cause(INSIDE * [-1, 1, 1])[1]
    assert "with z of the other sign: is main.stl a mesh whose z points that way?" in cause(INSIDE * [1, 1, -1])[1]
    assert "with their z, x, y as x, y, z: was main.stl exported with other axes?" in cause(INSIDE[:, [1, 2, 0]])[1]
    assert "with their -z, x, -y as x, y, z" in cause(np.column_stack([INSIDE[:, 1], -INSIDE[:, 2], -INSIDE[:, 0]]))[1]
    inches = cause(INSIDE * 2.54, unit="cm")[1]
    assert 'All would lie in it with the unit in (327.7 L, not 20 L): is unit = "cm" right?' in inches
    far = cause(INSIDE + 9.0)[1]
    assert far.startswith('Look at unit = "m", which side\'s mesh main.stl is')
    # A mesh whose x runs across: there the other sign of x is the other side.
    across = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    assert (
        "with x of the other sign: is main.stl the mesh of the other side?"
        in cause(INSIDE[:, [1, 0, 2]] * [-1, 1, 1], axes="right, aft, up", turn=across)[1]
    )
    one = tank()
    moved = FittedTank(one.design, one.cavity, one.turn, np.array([5.0, 0.0, 0.0]), {})
    assert elsewhere.spans(one).endswith("z 0 to 0.1 m.")
    from_datum = elsewhere.one_cause(moved, one.cavity, ("tank", 0), INSIDE, 4, np.eye(3), 1e-3)
    assert from_datum is not None
    assert "as places on the aircraft, from its datum" in from_datum.mend


# --- twins and sheets


def test_a_tank_made_from_another_one() -> None:
    tables = {"aircraft": {"axes": "aft, right, up"}, "tank": [
        {"name": "left", "axes": "right, aft, up", "position": ["1 m", "-2 m", "3 m"], "measured": 1, "measured_unusable": 2,
         "outlet": [{"position": ["1 mm", "2 mm", "3 mm"], "through": "left"}], "switch": [{"measured_trip": "1 L", "mark": ["-1 mm",
          "0 mm", "0 mm"]}],
         "list": ["1 mm", "2 mm"], "words": ["a", "b", "c"]},
        {"name": "right", "mirror_of": "left", "words": "own"}, {"name": "tip", "mirror_of": "lefft"}, 7]}  # fmt: skip
    made, faults = mirror.expanded(tables)
    right = made["tank"][1]
    assert right["position"] == ["1 m", "2 m", "3 m"]  # across the aircraft
    assert right["outlet"] == [{"position": ["-1 mm", "2 mm", "3 mm"], "through": "right"}]  # across the mesh
    assert (right["switch"], right["list"], right["words"]) == (
        [{"mark": ["1 mm", "0 mm", "0 mm"]}],
        ["1 mm", "2 mm"],
        "own",
    )
    assert not {"measured", "measured_unusable"} & set(right)
    ((place, found, mend),) = [(one.place, one.found, one.mend) for one in faults]
    assert (place, found) == (("tank", 2, "mirror_of"), 'there is no tank "lefft" to mirror')
    assert mend == 'Is "left" meant? Name a tank that is written out; there are: left.'
    _, faults = mirror.expanded({"tank": [{"name": "a", "mirror_of": "a"}]})
    assert faults[0].mend.endswith("there are: none.")
    assert mirror.expanded({"tank": [{"name": "a"}]}) == ({"tank": [{"name": "a"}]}, [])
    assert (mirror.expanded({"tank": 3})[1], mirror.expanded({})[1]) == ([], [])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("poured,stick\n1 L,dry\n", []),
        ("poured,stick\n2 L,dry\n", ["sha256"]),
        ("bucket\n", ["sheet"]),
        (None, ["sheet"]),
    ],
)
def test_a_sheet_that_is_not_the_one_that_was_looked_at(text: str | None, told: list[str], tmp_path: Path) -> None:
    if text is not None:
        (tmp_path / "s.csv").write_text(text, encoding="utf-8")
    one = tank()
    named = {
        "sheet": "s.csv",
        "sha256": hashlib.sha256(b"poured,stick\n1 L,dry\n").hexdigest(),
        "date": "2026-05-30",
        "at": "parked",
    }
    design = one.design.model_copy(update={"measured": Made(**named)})
    faults: list[Any] = []
    found = tested.with_sheet(3, FittedTank(design, one.cavity, one.turn, one.origin_m, {}), tmp_path, faults)
    assert [fault.place for fault in faults] == [("tank", 3, "measured", name) for name in told]
    assert (found.sheet is None) == (told == ["sheet"])
    assert tested.with_sheet(3, one, tmp_path, faults) is one


def test_the_files_behind_what_a_command_was_asked_of(tmp_path: Path) -> None:
    mesh = tmp_path / "tank.STL"
    mesh.write_bytes(b"solid")
    assert [(one.file, one.sha256) for one in inputs.behind(mesh)] == [
        ("tank.STL", hashlib.sha256(b"solid").hexdigest())
    ]
    assert inputs.behind(tmp_path / "none.stl") == ()
    broken = tmp_path / "design.TOML"
    broken.write_text("[", encoding="utf-8")
    assert inputs.behind(broken) == ()


def test_values_without_end_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stated.bounds, "MOST_VALUES", 20)
    monkeypatch.setattr(stated.bounds, "TABLE_VALUES", 5)
    stated._check_amount({"a": [1] * 14}, "x.toml")  # 5 of the table, one of the list, 14
    for wrong in ({"a": [1] * 15}, {"a": {"b": {"c": {"d": 1}}}}, {"a": [[[1] * 20]]}):
        with pytest.raises(DesignError, match="it states more than 20 values"):
            stated._check_amount(wrong, "x.toml")


# --- seams, sheets, bodies in and through one another


def surface(*parts: Any, unit: str = "m") -> Surface:
    vertices = np.vstack([part[0] for part in parts])
    counts = np.cumsum([0, *(len(part[0]) for part in parts)])
    faces = np.vstack([part[1] + off for part, off in zip(parts, counts[:-1], strict=True)])
    return Surface("x.stl", unit, np.ascontiguousarray(vertices), faces.astype(np.int32), ())


def box(low: Any = (0.0, 0.0, 0.0), size: Any = (1.0, 1.0, 1.0), inward: bool = False) -> Any:
    vertices, faces = solids.box(*size)
    return vertices + np.array(low), faces[:, ::-1] if inward else faces


@pytest.mark.parametrize(("gap", "told"), [(1e-4, True), (1e-3, True), (0.5, False), (0.0, False)])
def test_a_seam_that_an_export_left_open(gap: float, told: bool) -> None:
    # A box whose roof was exported for itself, lifted by a gap.
    vertices, faces = solids.box(1.0, 1.0, 1.0)
    top = (faces >= 4).all(axis=1)
    apart = np.vstack([vertices, vertices[4:] + np.array([0.0, 0.0, gap])])
    moved = np.where(top[:, None], faces + 4, faces)
    found = soundness.seam(apart, edges.edges_of(moved.astype(np.int32)))
    assert (found is not None) is told
    if found is not None:
        assert found == pytest.approx(gap)
        # One piece smaller than that gap's worth is no seam's side.
        small = np.vstack([apart, [[9.0, 9, 9], [9.0 + gap, 9, 9], [9.0, 9 + gap, 9]]])
        more = np.vstack([moved, [[12, 13, 14]]]).astype(np.int32)
        assert soundness.seam(small, edges.edges_of(more)) is None
    assert '--weld "0.0002 mm"' in soundness.seam_words(1e-4, "mm")


@pytest.mark.parametrize(("bend", "is_flat"), [(0.0, True), (1e-13, True), (1e-3, False)])
@pytest.mark.parametrize("size", [1e-3, 1.0, 1e3])
def test_a_surface_in_one_plane(bend: float, is_flat: bool, size: float) -> None:
    corners = np.array([[0.0, 0, 0], [1, 0, 1], [0, 1, 0], [1, 1, 1 + bend]]) * size
    assert soundness.flat(corners, np.array([[0, 1, 2], [3, 2, 1]])) is is_flat
    assert soundness.flat(corners, np.zeros((0, 3), dtype=np.int32)) is False


@pytest.mark.parametrize("unit", ["m", "mm"])
@pytest.mark.parametrize(
    ("low", "told"), [((0.5, 0.5, 0.5), "through each other, the first near"), ((2.0, 0.0, 0.0), "")]
)
def test_bodies_that_pass_through_one_another(unit: str, low: Any, told: str) -> None:
    scale = 1.0 if unit == "m" else 1e3
    one, two = box(), box(low)
    given = surface((one[0] * scale, one[1]), (two[0] * scale, two[1]), unit=unit)
    soundness._check_overlap(given, BodiesError("several", mend="pick")) if not told else None
    if told:
        with pytest.raises(MeshError, match="pass through each other"):
            soundness._check_crossings(given)
        with pytest.raises(BodiesError, match="several; some pass through each other"):
            soundness._check_overlap(given, BodiesError("several", mend="pick"))
    else:
        soundness._check_crossings(given)


def test_a_body_that_ends_in_a_face_of_another_passes_through_it() -> None:
    """Two boxes that share half of a face from within: no two faces cross, yet a part would count twice."""
    apart = surface(box(), box((1.0, 0.25, 0.25), (0.5, 0.5, 0.5)))
    meets = soundness.crossings(apart.vertices, apart.faces, soundness.SHALLOW_M, first=soundness.LOOKED_AT)
    assert soundness.passes_through(apart, meets) is None  # side by side
    within = surface(box(), box((0.5, 0.25, 0.25), (0.5, 0.5, 0.5)))
    meets = soundness.crossings(within.vertices, within.faces, soundness.SHALLOW_M, first=soundness.LOOKED_AT)
    if len(meets.grazing):
        at = soundness.passes_through(within, meets)
        assert at is not None
        assert at[0] == pytest.approx(1.0, abs=1e-6)


def raw(*parts: Any) -> Raw:
    given = surface(*parts)
    number = np.repeat(np.arange(len(parts)), [len(part[1]) for part in parts])
    return Raw(
        given.vertices,
        given.faces.astype(np.int64),
        "m",
        parts=number,
        names=tuple(f"part {k}" for k in range(len(parts))),
    )


def test_which_body_lies_in_which() -> None:
    found = picking.listing(
        raw(box(), box((0.2, 0.2, 0.2), (0.5, 0.5, 0.5)), box((0.3, 0.3, 0.3), (0.1, 0.1, 0.1)), box((5.0, 0.0, 0.0))),
        "m",
    )
    by_size = {round(body.volume_m3 or 0.0, 6): body for body in found.bodies}
    names = {body.number: round(body.volume_m3 or 0.0, 6) for body in found.bodies}
    assert [sorted(names[k] for k in by_size[volume].inside) for volume in (0.125, 0.001)] == [[1.0], [0.125, 1.0]]
    assert sum(not body.inside for body in found.bodies) == 2
    # Taken alone, a body that lies in it is told, and one that is a hollow of it belongs to it.
    hollow = picking.listing(raw(box(), box((0.2, 0.2, 0.2), (0.5, 0.5, 0.5), inward=True)), "m")
    assert [body.volume_m3 for body in hollow.bodies] in (
        [pytest.approx(0.875)],
        [pytest.approx(1.0), pytest.approx(0.125)],
        [pytest.approx(1.0), pytest.approx(-0.125)],
    )


def test_a_body_that_reaches_into_the_one_that_was_taken() -> None:
    found = picking.listing(
        raw(box(), box((0.9, 0.2, 0.2), (0.5, 0.5, 0.5)), box((5.0, 0.0, 0.0), (0.4, 0.4, 0.4))), "m"
    )
    (taken,) = [body for body in found.bodies if (body.volume_m3 or 0.0) > 0.9]
    told = list(found._overlaps(taken))
    assert len(told) == 1
    assert "shares 25 L with it, about (0.95, 0.45, 0.45) m" in str(told[0])
    others = [body for body in found.bodies if body is not taken]
    assert [found._may_overlap(taken, other) for other in (taken, *others)].count(True) == 1
    kept = found.picked(str(taken.number), "x")
    assert len(kept.faces) == 12
    with pytest.raises(BodiesError, match='there is no body named "gone"'):
        found.picked("gone", "x")


# --- the names in a flight


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, []), ({"attitude": "climb"}, ["climb"]), ({"flow": "idle"}, ["idle"]), ({"selectors": {"s": "a"}}, []),
        ({"selectors": {"s": "both"}}, []),
        ({"selectors": {"s": "off"}}, []), ({"selectors": {"v": "a"}}, ["v"]), ({"selectors": {"s": "c"}}, ["c"]), ({"shut": ("v",)}, []),
        ({"shut": ("s",)}, ["s"]),
        ({"pumps": ("p",)}, []), ({"pumps": ("v",)}, ["v"]), ({"pumps": None}, []), ({"returns_to": "b"}, []), ({"returns_to": "c"},
         ["c"]), ({"returns_to": None}, []),
        ({"loaded_m3": {"a": 1.0}}, []), ({"loaded_m3": {"c": 1.0}}, ["c"]),
    ],
)  # fmt: skip
def test_names_in_a_flight_that_the_design_does_not_have(more: dict[str, Any], told: list[str]) -> None:
    parts = [
        Selector.model_construct(name="s", both=True),
        Valve.model_construct(name="v"),
        Pump.model_construct(name="p"),
    ]
    design: Any = Made(
        tank=[Made(name="a"), Made(name="b")],
        component=parts,
        attitude=[Made(name="cruise")],
        flows_m3_s={"takeoff": 1.0},
    )
    given = {
        "attitude": "cruise", "flow": "takeoff", "selectors": {}, "shut": (), "pumps": (), "returns_to": None, "loaded_m3": {},
         "name": "leg",
    } | more  # fmt: skip
    segment: Any = Made(**given)
    found = [" ".join(map(str, vars(one).values())) for one in crosscheck._segment(design, ("flight", 0), segment)]
    assert len(found) == len(told)
    assert all(f'"{name}"' in one for name, one in zip(told, found, strict=True))


@pytest.mark.parametrize("size", [1e-3, 1.0, 1e3])
@pytest.mark.parametrize(("times", "through"), [(1.0, False), (0.0, False), (2.0, True), (-1.0, True)])
def test_points_beside_a_touch_are_looked_at_in_its_own_size(
    monkeypatch: pytest.MonkeyPatch, size: float, times: float, through: bool
) -> None:
    """Two faces square to each other, however small they are: between them on all four sides."""
    asked: list[Any] = []
    monkeypatch.setattr(soundness.surface, "enclosed_volume", lambda vertices, faces: 1.0)
    areas = np.array([[0.0, 0.0, size**2 / 2.0], [0.0, size**2 / 2.0, 0.0]])
    monkeypatch.setattr(soundness.surface, "vector_areas", lambda vertices, faces: areas)
    monkeypatch.setattr(soundness.points, "winding", lambda at, vertices, faces: asked.append(at) or times)
    vertices = np.array([[0.0, 0.0, 0.0], [size, 0.0, 0.0], [0.0, size, 0.0], [0.0, 0.0, size]])
    given: Any = Made(vertices=vertices, faces=np.array([[0, 1, 2], [0, 1, 3]]))
    touch: Any = Made(grazing_at=[np.zeros(3)], grazing=[np.array([0, 1])])
    found = soundness.passes_through(given, touch)
    assert (found is not None) is through
    first = soundness._NEAR[0] * size * np.array([0.0, 1.0, 1.0])
    assert asked[0] == pytest.approx(first, rel=1e-9)
    assert len(asked) == (1 if through else 4 * len(soundness._NEAR))
