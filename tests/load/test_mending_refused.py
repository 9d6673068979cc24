"""What mending refuses, in which words, and the files that it writes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import solids
from click.testing import CliRunner
from manifold3d import Manifold
from numpy.testing import assert_allclose
from solids import Floats, Solid
from surfaces import BOX, CUBE, NEEDLE, box_with, moved, surface, together, written

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mending import mend
from fuelsys.load.meshes.mesh import examine
from fuelsys_cli.mesh import command


def refusal(solid: Solid, weld_m: float = 0.0, fill_m: float = 0.0, unit: str = "m") -> str:
    with pytest.raises(MeshError) as caught:
        mend(surface(solid, unit), weld_m, fill_m)
    (line,) = caught.value.lines
    return line


# --- what is refused -------------------------------------------------------------------------------------------------

CLOSE = "Close the surface in CAD and export again."
UNITE = "Unite the bodies that touch there into one solid, or remove the inner faces, and export again."


def moebius() -> Solid:
    """A strip of eight quads, turned by half a turn before it closes."""
    turn = np.linspace(0, 2 * np.pi, 9)[:8]
    ring = np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    half = 0.2 * np.column_stack([np.cos(turn) * np.cos(turn / 2), np.sin(turn) * np.cos(turn / 2), np.sin(turn / 2)])
    quads = [[k, (k + 1), (k + 1) + 8, k + 8] for k in range(7)] + [[7, 8, 0, 15]]
    return np.concatenate([ring + half, ring - half]), np.array(
        [f for a, b, c, d in quads for f in ([a, b, c], [a, c, d])]
    )


@pytest.mark.parametrize(
    ("solid", "fill_m", "said"),
    [
        pytest.param(
            box_with(without=(0,)),
            0.0,
            "1 hole is open, and none may be closed, the largest 2.236 m across with 3 corners, near (1.33333, 0.333333, 0) m."
            f" {CLOSE}",
            id="a hole, none to be closed",
        ),
        pytest.param(
            box_with(without=(0, 2)),
            0.5,
            "2 holes are larger than the 0.5 m that may be closed, the largest 2.236 m across with 3 corners, near"
            f" (1.33333, 0.333333, 0) m. {CLOSE}",
            id="large holes",
        ),
        pytest.param(
            together(CUBE, moved(CUBE, (1.0, 1.0, 0.0))),
            0.0,
            f"1 crowded edge, the middle of the first near (1, 1, 0.5) m. {UNITE}",
            id="an edge of four faces",
        ),
        pytest.param(
            together(CUBE, moved(CUBE, (1.0, 1.0, 1.0))),
            0.0,
            f"1 pinched corner, the first near (1, 1, 1) m. {UNITE}",
            id="a corner in common",
        ),
        pytest.param(
            together(CUBE, moved(CUBE, (3.0, 0.0, 0.0))),
            0.0,
            "there are 2 separate bodies in it. Pick one of its bodies with --body, or export each tank's inside"
            " to a file of its own, as one closed solid.",
            id="two bodies",
        ),
        pytest.param(
            together(solids.box(2, 2, 2), moved(solids.box(0.5, 0.5, 0.5), (0.3, 0.3, 0.3))),
            0.0,
            "1 closed surface inside it is no hollow in it (shell 2), the middle of the first near (0.55, 0.55, 0.55) m. What takes"
            " up room in the tank is a hollow, its normals point into it: turn it in CAD; or pick the tank with --body and name"
            " the other as its [[tank.inside]].",
            id="a solid inside",
        ),
        pytest.param(moebius(), 9.0, "the surface is one-sided and has no inside, the first near", id="one-sided"),
        pytest.param(
            together(solids.box(0.5, 0.3, 0.2), moved(solids.box(0.496, 0.296, 0.196), (0.002, 0.002, 0.002))),
            0.0,
            "it looks like the tank's wall, 2 mm thick on average, not its inside. Export the tank's inside, or have the inner"
            " shell taken (--inside): it encloses 28.78 L.",
            id="a wall",
        ),
    ],
)
def test_refusals(solid: Solid, fill_m: float, said: str) -> None:
    assert refusal(solid, 0.0, fill_m).startswith(f"x.stl: {said}")


def test_a_surface_that_passes_through_itself_is_refused() -> None:
    said = refusal(together(CUBE, NEEDLE))
    assert said.startswith("x.stl: 3 pairs of crossing faces, the first near (0.4")
    assert said.endswith("Where a surface passes through itself it does not say what is inside: unite it in CAD.")


def test_a_wall_with_an_opening_has_no_inner_shell() -> None:
    tank = Manifold.cube((0.5, 0.3, 0.2), True) - Manifold.cube((0.496, 0.296, 0.196), True)
    said = refusal(solids.from_manifold(tank - Manifold.cylinder(0.2, 0.03, circular_segments=24)))
    assert said.startswith("x.stl: it looks like the tank's wall, 2 mm thick on average, not its inside. ")
    assert said.endswith("a wall that is open somewhere has no inner shell to take.")


def test_a_hole_is_not_closed_across_what_stands_in_it() -> None:
    # The roof is open, and a can hangs in the opening: the patch would pass through it.
    can = solids.box(0.2, 0.2, 0.2)
    opened = together((CUBE[0], np.delete(CUBE[1], [2, 3], axis=0)), (can[0] + [0.3, 0.4, 0.9], can[1][:, ::-1]))
    said = refusal(opened, 0.0, 2.0)
    assert said.startswith(
        "x.stl: closing holes made 8 pairs of crossing faces: the patch across one passes through the rest of the surface, the"
        " first near (0."
    )
    assert said.endswith("Close that hole in CAD and export again, or state a smaller --fill.")
    assert mend(surface((CUBE[0], np.delete(CUBE[1], [2, 3], axis=0))), 0.0, 2.0).health.usable


# --- the file --------------------------------------------------------------------------------------------------------


def run(path: Path, *options: str, code: int = 0) -> str:
    done = CliRunner().invoke(command, [str(path), "--unit", "mm", *options])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done.output


def test_the_command_writes_a_new_file_and_leaves_the_old(tmp_path: Path) -> None:
    vertices: Floats = BOX[0] * 100 / 3  # thirds: numbers that need all their digits
    path = written(tmp_path, (vertices, np.vstack([box_with(without=(0,), turned=(4,))[1], [[1, 1, 2]]])))
    before = path.read_bytes()
    new = tmp_path / "mended.ply"
    said = run(path, "--mend", "--fill", "80 mm", "--into", str(new), code=3)
    assert path.read_bytes() == before
    for change in ("faces with two equal corners left out", "faces turned to agree", "holes closed"):
        assert change in said
    assert "Mesh mended.ply" in said
    assert_allclose(load_cavity(new, "mm").gross_m3, (100 / 3) ** 3 * 1e-9, rtol=1e-13)
    assert examine(new, "mm").faults == ()
    kept = load_cavity(new, "mm")
    assert_allclose(np.unique(kept.vertices_m + kept.centre_m, axis=0), np.unique(vertices * 1e-3, axis=0), rtol=1e-15)
    mended_from, unit = new.read_text().splitlines()[2:4]
    assert mended_from.startswith("comment mended from a.ply, its volume within ")
    assert unit == "comment unit mm"
    assert mended_from.removeprefix("comment ") in load_cavity(new, "mm").notes  # the bound is not forgotten


def test_the_command_refuses_to_write_over_files(tmp_path: Path) -> None:
    path = written(tmp_path, box_with(turned=(1,)))
    (tmp_path / "b.ply").write_text("kept")
    with pytest.raises(Exception, match="the file is there already") as caught:
        run(path, "--mend", "--into", str(tmp_path / "b.ply"))
    assert type(caught.value).__name__ == "OutputError"
    assert (tmp_path / "b.ply").read_text() == "kept"
    assert "is the mesh itself" in run(path, "--mend", "--into", str(path), "--replace", code=2)
    assert "--into needs --mend" in run(path, "--into", str(tmp_path / "c.ply"), code=2)
    assert "need --mend" in run(path, "--fill", "1 mm", code=2)
    assert "must not be negative" in run(path, "--mend", "--weld", "-1 mm", "--into", "c.ply", code=2)


def test_nothing_is_written_where_mending_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, box_with(without=(0,)))
    with pytest.raises(MeshError, match="1 hole is larger than the 1 mm that may be closed"):
        run(path, "--mend", "--fill", "1 mm", "--into", str(tmp_path / "b.ply"))
    assert sorted(found.name for found in tmp_path.iterdir()) == ["a.ply"]
