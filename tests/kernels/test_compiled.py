"""What is kept of compiled kernels: it is found again, and only where nobody else can put code."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fuelsys.kernels import compiled, points

TETRAHEDRON = (
    np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]),
    np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], np.int32),
)


def test_what_is_kept_is_read_and_not_compiled_again() -> None:
    assert points.winding(np.full(3, 0.1), *TETRAHEDRON) == pytest.approx(1.0)
    again = compiled.compiled(points.winding.py_func)  # type: ignore[attr-defined]
    assert again(np.full(3, 0.1), *TETRAHEDRON) == pytest.approx(1.0)
    stats = again.stats  # type: ignore[attr-defined]
    assert (sum(stats.cache_hits.values()), sum(stats.cache_misses.values())) == (1, 0)


def test_a_private_folder_is_this_persons_alone(tmp_path: Path) -> None:
    first = compiled._private(tmp_path)
    assert first is not None
    assert first == compiled._private(tmp_path)
    assert first.stat().st_mode & 0o777 == 0o700
    first.chmod(0o770)
    assert compiled._private(tmp_path) is None
