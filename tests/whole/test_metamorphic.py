"""Random sound designs mirrored, moved, in other units, reordered, renamed, refined, with each switch twice: the same answers.

`python tests/metamorphic.py --designs 300` does so for more of them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from metamorphic import CHANGES, as_drawn, differences


# In every fifth a selector joins the tanks, and each lamp's trip is flown at each attitude: these share the changes, two each.
@pytest.mark.parametrize("seed", range(20))
def test_what_must_change_nothing_changes_nothing(tmp_path: Path, seed: int) -> None:
    begin = seed // 5 * 2
    changes = list(CHANGES)[begin : begin + 2] if seed % 5 == 3 else CHANGES
    assert {change: found for change in changes if (found := differences(seed, change, tmp_path))} == {}


def test_much_is_compared() -> None:
    figures, outcomes = as_drawn(0)
    assert len(figures) > 100
    assert outcomes.total() > 80
