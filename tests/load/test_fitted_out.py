"""A box with a rib that stands 0.05 mm off its floor, at a place of its own: what is taken off, where fittings stand, what is kept."""

from __future__ import annotations

import hashlib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import solids
from flights import box, built, engine, line
from numpy.testing import assert_allclose

from fuelsys.errors import DesignError, OutputError
from fuelsys.load.designs.inputs import to_keep
from fuelsys.load.meshes.bench import Bench
from fuelsys.load.meshes.mesh import LISTED
from fuelsys.model.built.layout import Layout

AT_MM = np.array([1000.0, 500.0, 200.0])


def write(path: Path, low: tuple[float, float, float], high: tuple[float, float, float]) -> None:
    (a, b, c), (d, e, f) = low, high
    points = [(x, y, z) for z in (c, f) for x, y in ((a, b), (d, b), (d, e), (a, e))]
    text = (
        "\n".join(" ".join(map(repr, p)) for p in points)
        + "\n"
        + "\n".join("3 " + " ".join(map(str, g)) for g in solids.BOX_FACES)
    )
    path.write_text(f"OFF\n8 12 0\n{text}\n", encoding="utf-8")


def ribbed(folder: Path, low_mm: float = 0.05, top_mm: float = 60.0, **more: Any) -> Layout:
    """300 x 200 x 100 mm, 6 L; the rib, 10 mm thick, reaches through both side walls and 60 mm up."""
    folder.mkdir(parents=True, exist_ok=True)
    write(folder / "rib.off", (150.0, -10.0, low_mm), (160.0, 210.0, top_mm))
    tank = box(
        "main",
        AT_MM.tolist(),
        (300, 200, 100),
        {"outlet out": (50, 100, 2)},
        inside=[{"name": "rib", "mesh": "rib.off"}],
        **more,
    )
    return built(folder, [tank], [engine((0, 0, 0))], [line("a", "main.out", "engine")], feed="gravity")


def test_what_is_taken_off_adds_up(tmp_path: Path) -> None:
    # 10 x 200 mm of rib are 59.95 mm high, 0.1199 L; the gap of 0.05 mm under it is 0.1 mL more.
    tank = ribbed(tmp_path).tank("main")
    assert tank.opened is not None
    lost = {one.what: one.volume_m3 for one in tank.cavity.taken}
    assert lost["narrow gaps"] == pytest.approx(0.1e-6, rel=0.02)  # and what lies beside it in the corners
    assert sum(lost.values()) == pytest.approx(0.12e-3, rel=1e-4)
    assert tank.cavity.gross_m3 == pytest.approx(6e-3 - 0.12e-3, rel=1e-5)
    assert tank.opened.cavity.gross_m3 == pytest.approx(6e-3 - 0.1199e-3, rel=1e-6)
    assert all(one >= 0.0 for one in lost.values())
    (gap,) = tank.cavity.gaps
    assert gap.width_m == pytest.approx(0.05e-3, rel=1e-3)
    assert_allclose(gap.at_m[2], AT_MM[2] / 1e3, atol=0.06e-3)
    shared = ribbed(tmp_path / "b", unmodelled="2 %").tank("main").cavity
    assert shared.gross_m3 == pytest.approx(0.98 * (6e-3 - 0.12e-3), rel=1e-5)
    assert sum(one.volume_m3 for one in shared.taken) + shared.gross_m3 == pytest.approx(6e-3, rel=1e-6)
    assert ribbed(tmp_path / "c", 0.0).tank("main").opened is None


def test_fittings_stand_where_they_are_stated_in_both_states(tmp_path: Path) -> None:
    tank = ribbed(tmp_path).tank("main")
    assert tank.opened is not None
    for name, at_mm in (("out", (50.0, 100.0, 2.0)), ("vent", (150.0, 100.0, 100.0))):
        wanted = (AT_MM + at_mm) / 1e3
        for one in (tank, tank.opened):
            assert_allclose(one.spot(name).point_m + one.cavity.centre_m, wanted, atol=1e-9)
            assert one.spot(name).off_m < 1e-6
        assert_allclose(
            tank.opened.spot(name).point_m,
            tank.spot(name).point_m + tank.cavity.centre_m - tank.opened.cavity.centre_m,
            atol=1e-12,
        )


def test_a_place_in_a_message_is_one_of_the_mesh(tmp_path: Path) -> None:
    # A rib up through the roof: the gap under it alone joins both bays. It is told in the mesh's own axes and unit, not from the datum.
    with pytest.raises(DesignError, match=r"only gaps narrower than 0\.1 mm, the first near") as caught:
        ribbed(tmp_path, top_mm=110.0)
    (told,) = caught.value.lines
    x, y, z = (float(one) for one in told.split("near (")[1].split(")")[0].split(","))
    assert 150.0 <= x <= 160.0
    assert 0.0 <= y <= 200.0
    assert -0.01 <= z <= 0.06


# --- what is kept of a design's files


def test_the_files_of_an_answer_are_those_that_it_was_made_of(tmp_path: Path) -> None:
    (tmp_path / "meshes").mkdir()
    folder = tmp_path / "in"
    folder.mkdir()
    data = {"a.off": b"one", "meshes/b.off": b"two", "../far.off": b"far"}
    for name, one in data.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(one)
    inputs = tuple(SimpleNamespace(file=name, sha256=hashlib.sha256(one).hexdigest()) for name, one in data.items())
    layout: Any = SimpleNamespace(inputs=inputs)
    assert to_keep(folder / "d.toml", layout) == ({"a.off": b"one", "meshes/b.off": b"two"}, ["../far.off"])
    (folder / "a.off").write_bytes(b"new")
    with pytest.raises(OutputError, match="the file changed while the answer was computed"):
        to_keep(folder / "d.toml", layout)


# --- what mending notes


def test_a_note_is_in_metres_and_lists_the_first_places() -> None:
    bench = Bench(None, np.zeros((3, 3)), np.zeros((0, 3), np.int32), np.zeros(0, np.bool_), 1e-3, [])  # type: ignore[arg-type]
    places = np.arange(3.0 * (LISTED + 2)).reshape(-1, 3)
    bench.note("holes filled", places, 5000.0)
    bench.note("corners joined", places[:1], count=7)
    bench.note("nothing", places[:0], 1.0)
    first, second = bench.changes
    assert (first.what, first.count, first.within_m3) == ("holes filled", LISTED + 2, pytest.approx(5e-6))
    assert_allclose(first.places_m, places[:LISTED] / 1e3)
    assert (second.count, second.within_m3) == (7, 0.0)
    assert_allclose(bench.middles(np.array([[0, 1, 2]], np.int32)), [[0.0, 0.0, 0.0]])
