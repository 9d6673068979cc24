"""Places that nearly all lie outside their tank have one cause, and one line names it, once for a tank and its twin."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
from spoilt import GOOD, told

TWINS = (
    GOOD[: GOOD.index('name = "right"')]
    + 'name = "right"\nmirror_of = "left"\n'
    + GOOD[GOOD.index("\n[[component]]") :]
)
OTHER = TWINS.replace("left.off", "other.off")
ALL = "wing.toml: tank left: all its 5 places lie outside the cavity."
# The box of 300 x 200 x 100 mm that the design means, as another file has it, and what is told: spans worked by hand.
CASES = {
    "the other side's mesh": (
        mf.BOX_MM - [0, 200, 0],
        "All would lie in it with y of the other sign: is other.off the mesh of the other side? "
        "other.off spans x 0 to 300, y -200 to 0, z 0 to 100 mm.",
    ),
    "inches taken for mm": (
        mf.BOX_MM / 25.4,
        'All would lie in it with the unit in (6 L, not 0.0003661 L): is unit = "mm" right? '
        "other.off spans x 0 to 11.811, y 0 to 7.874, z 0 to 3.937 mm.",
    ),
    "other axes": (  # its x is what was -y, its y what was x
        mf.BOX_MM * [2 / 3, 3 / 2, 1] - [200, 0, 0],
        "All would lie in it with their -y, x, z as x, y, z: was other.off exported with other axes? "
        "other.off spans x -200 to 0, y 0 to 300, z 0 to 100 mm.",
    ),
    "places from the aircraft's datum": (
        mf.BOX_MM - [350, -560, 900],
        "All would lie in it as places on the aircraft, from its datum: give them from the mesh's origin, in its own axes. "
        "other.off spans x -350 to -50, y 560 to 760, z -900 to -800 mm.",
    ),
    "what nothing explains": (
        mf.BOX_MM + 10000.0,
        'Look at unit = "mm", which side\'s mesh other.off is, and where its origin and axes lie: places in a tank are given '
        "in its mesh's own axes. other.off spans x 10000 to 10300, y 10000 to 10200, z 10000 to 10100 mm.",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_one_line_names_the_cause(tmp_path: Path, case: str) -> None:
    box, said = CASES[case]
    (tmp_path / "other.off").write_bytes(mf.off(np.asarray(box), mf.QUADS))
    assert told(tmp_path, OTHER) == [f"{ALL} {said}"]


def test_a_few_places_outside_are_told_each_but_not_again_of_the_twin(tmp_path: Path) -> None:
    lines = told(tmp_path, TWINS.replace('["280 mm", "100 mm"', '["280 mm", "-50 mm"').replace('"30 mm"]', '"130 mm"]'))
    assert [line.split(". ")[0] for line in lines] == [
        "wing.toml: tank left.outlet.position: this place lies 50 mm outside the cavity",
        "wing.toml: tank left.switch low.mark: this place lies 30 mm outside the cavity",
    ]


def test_what_a_twin_states_itself_is_told_of_it(tmp_path: Path) -> None:
    own = 'mirror_of = "left"\nvent = [{ name = "up", position = ["10 mm", "-100 mm", "150 mm"] }]\n'
    (line,) = told(tmp_path, TWINS.replace('mirror_of = "left"\n', own))
    assert line.startswith("wing.toml: tank right.vent up.position: this place lies 50 mm outside the cavity.")


def test_metres_taken_for_millimetres_leave_no_passage_at_all(tmp_path: Path) -> None:
    (tmp_path / "other.off").write_bytes(mf.off(mf.BOX / 3.0, mf.QUADS))  # 0.1 x 0.067 x 0.033 "mm"
    said = "wing.toml: tank left.mesh: all of it is narrower than 0.1 mm; it holds 2.22e-07 mL. Look at its unit"
    (line,) = told(tmp_path, OTHER)
    assert line.startswith(said)
