"""What a mesh reader hands on: corners and faces as the file has them, and how a reader says that a file is damaged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fuelsys import units
from fuelsys.errors import MeshError
from fuelsys.kernels.compiled import Floats

Indices = NDArray[np.int64]
_MOST = 1e9


@dataclass(frozen=True)
class Raw:
    """Vertices (n, 3) in the file's own unit and axes, faces (m, 3) that index them, and the unit where the file says it."""

    vertices: Floats
    faces: Indices
    unit: str | None = None
    notes: tuple[str, ...] = ()


def damaged(found: str, mend: str = "The file is damaged: export it again.") -> MeshError:
    """A file that is not what its format asks for; files.read adds the file's name."""
    return MeshError(found, mend=mend)


def counted(number: int, what: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "edge joins", "edges join"), counted(2, "corner")
    ('1 edge joins', '2 corners')
    """
    return f"{number} {what if number == 1 else many or what + 's'}"


def lines_of(data: bytes) -> list[str]:
    """The lines of a text file. Names and comments may be in any encoding; what is read from it is plain ASCII."""
    return data.removeprefix(b"\xef\xbb\xbf").decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def three(words: Sequence[str], number: int, line: str) -> tuple[float, float, float]:
    """The first three words of a line as coordinates."""
    try:
        x, y, z = (float(word) for word in words[:3])
    except ValueError as fault:
        raise damaged(f"line {number} reads {units.shown(line.strip())}, where three coordinates are due") from fault
    return x, y, z


def coordinates(rows: Sequence[Sequence[float]]) -> Floats:
    """Rows of three -> (n, 3), also for none."""
    return np.array(rows, dtype=np.float64).reshape(-1, 3)


def check_coordinates(vertices: Floats) -> None:
    """Refuse coordinates that are not finite, or so large in any unit that they are none."""
    odd = np.flatnonzero(~(np.abs(vertices) < _MOST).all(axis=1))
    if odd.size:
        first = ", ".join(f"{c:g}" for c in vertices[odd[0]])
        found = counted(odd.size, "corner has a coordinate that is", "corners have coordinates that are")
        raise damaged(f"{found} not finite or beyond reason, the first ({first})")


def check_indices(faces: Indices, n_vertices: int) -> None:
    """Refuse faces that name a vertex which is not there."""
    odd = np.flatnonzero(((faces < 0) | (faces >= n_vertices)).any(axis=1))
    if odd.size:
        named = next(int(v) for v in faces[odd[0]] if not 0 <= v < n_vertices)
        raise damaged(f"a face names vertex {named}, counted from zero, and there are {n_vertices}")
