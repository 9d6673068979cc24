"""Facets of STEP files that are kept: used again, made anew where anything differs or is damaged."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fuelsys.load.formats import kept, step


@pytest.fixture
def asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[tuple[object, ...]]:
    """A stand-in for the geometry library: a box of 100 x 100 x 100 mm, and each time that it was asked."""
    found: list[tuple[object, ...]] = []
    corners = np.array([[x, y, z] for x in (0.0, 100.0) for y in (0.0, 100.0) for z in (0.0, 100.0)])
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    faces = np.array([corner for a, b, c, d in sides for corner in ((a, b, c), (a, c, d))], np.int32)
    solid = step.Solid(1, "tank", "mm", 1e-3, 0.06, (50.0, 50.0, 50.0))

    def answer(question: str, *about: object) -> object:
        found.append((question, *about))
        return step.Body(solid, corners, faces, float(about[1]), 1e-3, 1e-3, ("a note",)), 1e-9  # type: ignore[arg-type]

    monkeypatch.setattr(step, "_asked", answer)
    monkeypatch.setattr(kept, "KEPT_IN", tmp_path)
    return found


def test_the_second_time_nothing_is_asked(asked: list[tuple[object, ...]]) -> None:
    first, second = step.read(b"one"), step.read(b"one")
    assert len(asked) == 1
    assert (first.solid, first.notes, first.tolerance_m) == (second.solid, second.notes, second.tolerance_m)
    assert np.array_equal(first.vertices, second.vertices)
    assert np.array_equal(first.faces, second.faces)
    assert second.faces.dtype == np.int32


def test_another_file_tolerance_or_solid_is_made_anew(asked: list[tuple[object, ...]]) -> None:
    step.read(b"one")
    step.read(b"two")
    step.read(b"one", 1e-4)
    step.read(b"one", pick="tank")
    assert len(asked) == 4


@pytest.mark.parametrize("damage", [b"", b"x", b"\x00" * 500])
def test_what_is_damaged_is_made_anew(asked: list[tuple[object, ...]], tmp_path: Path, damage: bytes) -> None:
    step.read(b"one")
    (file,) = (tmp_path / "facets").iterdir()
    whole = file.read_bytes()
    file.write_bytes(damage or whole[:-1])
    step.read(b"one")
    assert len(asked) == 2
    assert file.read_bytes() == whole


def test_where_nothing_can_be_kept_it_works_all_the_same(
    asked: list[tuple[object, ...]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "facets").write_text("a file in the folder's place", encoding="utf-8")
    step.read(b"one")
    monkeypatch.setattr(kept, "KEPT_IN", None)
    step.read(b"one")
    assert len(asked) == 2


def test_the_oldest_go_first(asked: list[tuple[object, ...]], tmp_path: Path) -> None:
    for i in range(kept.MOST_KEPT + 5):
        step.read(str(i).encode())
    assert len(list((tmp_path / "facets").iterdir())) == kept.MOST_KEPT
    step.read(str(kept.MOST_KEPT + 4).encode())
    assert len(asked) == kept.MOST_KEPT + 5
