"""What a mesh reader is asked for and hands on: corners and faces as the file has them; and how it says that a file is damaged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.errors import MeshError

Indices = NDArray[np.int64]
_MOST = 1e9
_MOST_LISTED = 8


# How one of several bodies is picked, in words for a refusal that lists them.
PICK = 'Pick one by its name or number: --body NAME, or body = "NAME" in the design file\'s [[tank]].'


@dataclass(frozen=True)
class Choice:
    """What a person says of a mesh file beside its unit: which of its bodies is meant, how finely true solids are facetted.

    mirror is the file's axis (0, 1, 2) along which it is turned round, where its mirror image is meant.
    """

    body: str = ""  # name or number; of a file with one body it may be left out
    tolerance_m: float | None = None
    mirror: int | None = None


WHOLE = Choice()


@dataclass(frozen=True)
class Raw:
    """Vertices (n, 3) in the file's own unit and axes, faces (m, 3) that index them, and the unit where the file says it.

    parts (m,) is the part of each face, where the file tells parts apart; it indexes their names, which may be empty.
    unit_said is a unit that stands in the file's comments only; raster is how far apart the coordinates lie that the file's
    numbers can hold at all, 0 where these are finer than any mesh.
    """

    vertices: Floats
    faces: Indices
    unit: str | None = None
    notes: tuple[str, ...] = ()
    parts: Indices | None = None
    names: tuple[str, ...] = ("",)
    unit_said: str = ""
    raster: float = 0.0


def damaged(found: str, mend: str = "The file is damaged: export it again.", field: str = "") -> MeshError:
    """A file that is not what its format asks for; files.read adds the file's name."""
    return MeshError(found, mend=mend, field=field)


def counted(number: int, what: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "edge joins", "edges join"), counted(2, "corner")
    ('1 edge joins', '2 corners')
    """
    return f"{number} {what if number == 1 else many or what + 's'}"


def is_number(pick: str) -> bool:
    """Whether a pick can be a body's number."""
    return pick.isascii() and pick.isdecimal() and len(pick) < 10


def listed(entries: Sequence[tuple[int, float, str]]) -> str:
    """Number, size and text of things on one line: the texts of the largest in the order of their numbers."""
    large = sorted(sorted(entries, key=lambda entry: -entry[1])[:_MOST_LISTED])
    rest = f"; and {len(entries) - len(large)} smaller" if len(large) < len(entries) else ""
    return "; ".join(text for _, _, text in large) + rest


def lines_of(data: bytes) -> list[str]:
    """The lines of a text file. Names and comments may be in any encoding; what is read from it is plain ASCII."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise damaged("its text is UTF-16", "Save or export it as plain text (UTF-8).")
    return data.removeprefix(b"\xef\xbb\xbf").decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def name_of(line: str) -> str:
    """What follows the first word of one of these lines, as the name that its writer meant: UTF-8 where it is that.

    >>> name_of("solid  r\u00c3\u00a9servoir 2")
    'r\u00e9servoir 2'
    """
    name = " ".join(line.split()[1:])
    try:
        return name.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return name


def three(words: Sequence[str], number: int, line: str) -> tuple[float, float, float]:
    """The first three words of a line as coordinates."""
    try:
        x, y, z = (float(word) for word in words[:3])
    except ValueError as fault:
        raise damaged(f"line {number} reads {units.shown(line.strip())}, where three coordinates are due") from fault
    return x, y, z


def parted(owners: Sequence[str]) -> tuple[Indices, tuple[str, ...]]:
    """The part of each face (m,) by its name, and the names, as Raw has them; one name is one part.

    >>> parted(["skin", "can", "skin"])
    (array([0, 1, 0]), ('skin', 'can'))
    """
    names = tuple(dict.fromkeys(owners)) or ("",)
    number = {name: k for k, name in enumerate(names)}
    return np.array([number[owner] for owner in owners], dtype=np.int64), names


def coordinates(rows: Sequence[Sequence[float]]) -> Floats:
    """Rows of three -> (n, 3), also for none."""
    return np.array(rows, dtype=np.float64).reshape(-1, 3)


def raster(vertices: Floats) -> float:
    """The step from one single-precision number to the next where the largest coordinate is.

    >>> raster(np.array([[0.0, 0.0, 1e7]]))
    1.0
    """
    return float(np.spacing(np.float32(np.abs(vertices).max(initial=0.0))))


def check_coordinates(vertices: Floats) -> None:
    """Refuse coordinates that are not finite, or so large in any unit that they are none."""
    fits = np.abs(vertices) < _MOST
    if fits.all():
        return
    odd = np.flatnonzero(~fits.all(axis=1))
    first = ", ".join(f"{c:g}" for c in vertices[odd[0]])
    found = counted(odd.size, "corner has a coordinate that is", "corners have coordinates that are")
    raise damaged(f"{found} not finite or beyond reason, the first ({first})")


def check_indices(faces: Indices, n_vertices: int) -> None:
    """Refuse faces that name a vertex which is not there."""
    off = (faces < 0) | (faces >= n_vertices)
    if off.any():
        odd = np.flatnonzero(off.any(axis=1))
        named = next(int(v) for v in faces[odd[0]] if not 0 <= v < n_vertices)
        raise damaged(f"a face names vertex {named}, counted from zero, and there are {n_vertices}")
