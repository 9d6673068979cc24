"""Where else a body of a mesh file is picked: mending, a new design, a design file; and who may not pick."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from asked import printed, refusal, tables
from bodyfiles import BOX, PICK, QUADS, SIDE_BY_SIDE, boxes, gross_l, obj, stl, unit_of, written
from click import UsageError
from click.testing import CliRunner
from numpy.testing import assert_allclose
from test_starter import fill, load

from fuelsys_cli.main import group


@pytest.fixture(params=list(SIDE_BY_SIDE))
def two(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return written(tmp_path, request.param, SIDE_BY_SIDE[request.param])


def test_the_picked_body_alone_is_mended(tmp_path: Path) -> None:
    data = obj(("tank", BOX, [*QUADS, QUADS[1]]), ("other", boxes(1.0, (300, 0, 0)), QUADS[1:]))
    path, new = written(tmp_path, "a.obj", data), tmp_path / "new.ply"
    printed("mesh", path, "--unit", "mm", "--body", "tank", "--mend", "--into", new)
    assert_allclose(gross_l(new), 6.0)


def test_a_new_design_names_the_body(tmp_path: Path) -> None:
    path = written(tmp_path, "wing.stl", stl("left tank v1.2", "right"))
    printed("new", path, "--unit", "mm", "--body", "left tank v1.2")
    text = (tmp_path / "design.toml").read_text(encoding="utf-8")
    assert '\nname = "left tank v1-2"\nmesh = "wing.stl"' in text
    assert '\nbody = "left tank v1.2"  # ' in text
    printed("new", path, "--unit", "mm", "--body", "2", "--replace")
    text = (tmp_path / "design.toml").read_text(encoding="utf-8")
    assert '\nname = "wing"\n' in text
    assert '\nbody = "2"  # ' in text
    assert ": 3 L gross as meshed." in text


def test_a_design_file_picks(tmp_path: Path) -> None:
    path = written(tmp_path, "wing.stl", stl("left", "right"))
    printed("new", path, "--unit", "mm", "--body", "left", "--axes", "aft, right, up")
    text = fill((tmp_path / "design.toml").read_text(encoding="utf-8"))
    assert_allclose(load(tmp_path, text).tanks[0].cavity.gross_m3, 6e-3)
    listed = '1 "left" 6 L about (150, 100, 50) mm; 2 "right" 3 L about (450, 100, 25) mm'
    (tmp_path / "design.toml").write_text(text.replace('body = "left"', 'body = "middle"'), encoding="utf-8")
    assert refusal("capacity", tmp_path / "design.toml") == (
        f'design.toml: tank left.body: there is no body named "middle" in it: {listed}. {PICK}'
    )
    (tmp_path / "design.toml").write_text(text.replace('body = "left"', ""), encoding="utf-8")
    assert (
        refusal("capacity", tmp_path / "design.toml")
        == f"wing.stl: there are 2 separate bodies in it: {listed}. {PICK}"
    )
    (tmp_path / "design.toml").write_text(text.replace('body = "left"', 'tolerance = "0.1 mm"'), encoding="utf-8")
    assert refusal("capacity", tmp_path / "design.toml") == (
        "design.toml: tank left.tolerance: a tolerance was stated, but STL files hold facets, whose tolerance the export"
        " decided. Leave it out; it is for STEP."
    )


@pytest.mark.parametrize("command", ["capacity", "levels"])
@pytest.mark.parametrize("option", [["--body", "left"], ["--tolerance", "0.1 mm"]], ids=lambda option: option[0])
def test_a_design_file_says_it_itself(tmp_path: Path, command: str, option: list[str]) -> None:
    done = CliRunner().invoke(group, [command, str(tmp_path / "design.toml"), *option])
    assert done.exit_code == UsageError.exit_code
    assert "--body and --tolerance are for a mesh; a design file says them in its [[tank]]." in done.output


@pytest.mark.parametrize("command", ["capacity", "levels", "mesh", "new"])
def test_facets_take_no_tolerance(two: Path, command: str) -> None:
    kind = two.suffix[1:].upper()
    assert refusal(command, two, *unit_of(two.name), "--tolerance", "0.1 mm") == (
        f"{two.name}: tolerance: a tolerance was stated, but {kind} files hold facets, whose tolerance the export decided."
        " Leave it out; it is for STEP."
    )


def test_what_mending_made_one_is_no_longer_listed_as_two(tmp_path: Path) -> None:
    """A lid a hundredth of a millimetre too high, as a part of its own."""
    lid = BOX + np.array([0.0, 0.0, 0.01])
    path, new = (
        written(tmp_path, "a.obj", obj(("pan", BOX, [*QUADS[:1], *QUADS[2:]]), ("lid", lid, QUADS[1:2]))),
        tmp_path / "new.ply",
    )
    found = tables("mesh", path, "--unit", "mm", "--mend", "--weld", "0.02 mm", "--into", new)
    assert [row["name"] for row in found["bodies"][0]] == ["pan", "lid"]
    assert "mended-bodies" not in found
    assert_allclose(gross_l(new), 6.0, rtol=1e-3)
