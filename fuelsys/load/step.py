"""STEP: true solids, read and facetted by the geometry library of the extra "step".

With stepfile.py and brep.py it is imported only when a STEP file is read (see files.py): the library is large and slow to start.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fuelsys import units
from fuelsys.errors import MeshError
from fuelsys.kernels import surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.load.raw import Raw, counted, damaged

try:
    from fuelsys.load import brep, stepfile
except ImportError as fault:
    raise MeshError(
        f"STEP is read by a geometry library that cannot be loaded ({fault})",
        mend='Install it with pip install "fuelsys[step]", or export the surface as STL.',
    ) from fault

# How far facets may lie off the true surface where the person says nothing. Common practice, no source: sheet is bent to a
# tenth of a millimetre at best. The library means it, but on balls and rings up to one facet in a hundred lay up to 2.1 times
# it off (measured). Its time grows with the square of the number of facets, hence the least.
TOLERANCE_M, LEAST_TOLERANCE_M, MOST_TOLERANCE_M = 5e-5, 1e-5, 2e-3
_TURN_RAD = 0.25  # of the surface from facet to facet
_COARSER = 4.0  # tolerance of the second facetting: sides twice as long
_MOST_FACETS_LONG = 2e5  # size of a solid over the tolerance: beyond, the library would take hours and all memory
_MOST_LISTED = 8


@dataclass(frozen=True)
class Solid:
    """One solid as the file lists it: its true volume and area (no facets) and its centroid in the file's own unit."""

    number: int
    name: str
    unit: str
    volume_m3: float
    area_m2: float
    centroid: tuple[float, float, float]

    def __str__(self) -> str:
        """Number, last part of the name, volume and place, as a list shows them."""
        place, last = ", ".join(f"{c:.4g}" for c in self.centroid), self.name.rpartition("/")[2]
        return f"{self.number} {units.shown(last)} {self.volume_m3 * 1e3:.4g} L about ({place}) {self.unit}"


@dataclass(frozen=True)
class Body:
    """A solid's facets, closed bit by bit, in the file's own unit and axes, and what two facettings hold."""

    solid: Solid
    vertices: Floats
    faces: Ints
    tolerance_m: float
    coarse_m3: float  # at four times the tolerance
    fine_m3: float  # at the tolerance: what vertices and faces hold
    notes: tuple[str, ...]

    @property
    def hidden_m3(self) -> float:
        """What the facets lack of the true solid; negative where they hold more than it."""
        return self.solid.volume_m3 - self.fine_m3

    @property
    def extrapolated_m3(self) -> float:
        """The two facettings carried on to none (Richardson): their error goes with the square of a facet's side."""
        return self.fine_m3 + (self.fine_m3 - self.coarse_m3) / (_COARSER - 1.0)

    @property
    def raw(self) -> Raw:
        """As every mesh reader hands it on."""
        return Raw(self.vertices, self.faces.astype(np.int64), self.solid.unit, self.notes)


def solids(data: bytes) -> tuple[Solid, ...]:
    """All solids of a STEP file in the file's order, without facets."""
    file = stepfile.read(data)
    return tuple(_measured(file, k) for k in range(1, len(file.found) + 1))


def read(data: bytes, tolerance_m: float = TOLERANCE_M, pick: str = "") -> Body:
    """One solid of a STEP file, picked by name or number where there are several, as facets made for a tolerance."""
    if not LEAST_TOLERANCE_M <= tolerance_m <= MOST_TOLERANCE_M:
        limits = f"{LEAST_TOLERANCE_M * 1e3:g} mm to {MOST_TOLERANCE_M * 1e3:g} mm"
        raise damaged(f"facets cannot be made within {tolerance_m * 1e3:g} mm", f"Give a tolerance of {limits}.")
    file = stepfile.read(data)
    number = _picked(file, pick)
    solid, shape = _measured(file, number), file.found[number - 1].shape
    _check_size(solid, tolerance_m)
    coarse_mm3 = surface.enclosed_volume(*brep.facets(shape, tolerance_m * 1e3 * _COARSER, _TURN_RAD * 2.0))
    vertices_mm, faces = brep.facets(shape, tolerance_m * 1e3, _TURN_RAD)
    fine_mm3 = surface.enclosed_volume(vertices_mm, faces)
    vertices = vertices_mm * (1e-3 / units.scale(file.unit))
    body = Body(solid, vertices, faces, tolerance_m, abs(coarse_mm3) * 1e-9, abs(fine_mm3) * 1e-9, file.notes)
    _check_agreement(body, brep.play_mm(shape) * 1e-3)
    return replace(body, notes=(*file.notes, _what_facets_hide(body)))


def _check_size(solid: Solid, tolerance_m: float) -> None:
    size_m = solid.area_m2**0.5
    if not 0.0 < solid.volume_m3 < np.inf:
        raise damaged("the solid encloses no volume", "Export the tank's inside as a solid.")
    if not size_m < _MOST_FACETS_LONG * tolerance_m:
        found = f"it is about {size_m:.3g} m large, too large for facets made for {tolerance_m * 1e3:g} mm"
        raise damaged(found, "Look at the unit of the export, or state a larger tolerance.")


def _check_agreement(body: Body, play_m: float) -> None:
    """Facets miss at most the area times their mean distance, about half the tolerance; twice that means a fault."""
    if abs(body.hidden_m3) > body.solid.area_m2 * (body.tolerance_m + play_m):
        held = f"its facets hold {body.fine_m3 * 1e3:.5g} L, the true solid {body.solid.volume_m3 * 1e3:.5g} L"
        mend = "Look for faces that overlap, cross or are inside out in CAD, or export the surface as STL."
        raise damaged(f"{held}, and facets made for {body.tolerance_m * 1e3:g} mm cannot differ so much", mend)


def _what_facets_hide(body: Body) -> str:
    true_m3, hidden_m3 = body.solid.volume_m3, body.hidden_m3
    share = hidden_m3 / true_m3
    sense = "less" if hidden_m3 > 0.0 else "more"
    facets = f"its facets, made for {body.tolerance_m * 1e3:g} mm, hold"
    if abs(share) < 1e-9:
        return f"the true solid holds {true_m3 * 1e3:.6g} L; {facets} the same"
    lack = f"{abs(hidden_m3) * 1e6:.3g} mL ({abs(share) * 100.0:.2g} %) {sense}"
    carried = f"facets twice as long and these, carried on to none, give {body.extrapolated_m3 * 1e3:.6g} L"
    return f"the true solid holds {true_m3 * 1e3:.6g} L; {facets} {lack}; {carried}"


def _picked(file: stepfile.File, pick: str) -> int:
    """The number of the solid that was asked for, counted from one; none is taken unasked where others were lost."""
    numbers = range(1, len(file.found) + 1)
    asked = [k for k in numbers if pick in (file.found[k - 1].name, file.found[k - 1].name.rpartition("/")[2])]
    if not pick:
        asked = list(numbers)
    elif not asked and pick.isdecimal():
        asked = [k for k in numbers if k == int(pick)]
    if len(asked) == 1 and (pick or not file.lost):
        return asked[0]
    which = f" named {units.shown(pick)}" if pick else ""
    what = f"{counted(len(asked), 'solid')}{which} can be read in it"
    if file.lost:
        what = f"{what}, {file.lost} cannot"
    shown = [_measured(file, k) for k in asked or numbers]
    large = sorted(shown, key=lambda solid: -solid.volume_m3)[:_MOST_LISTED]
    listed = "; ".join(str(solid) for solid in sorted(large, key=lambda solid: solid.number))
    rest = f"; and {len(shown) - len(large)} smaller" if len(large) < len(shown) else ""
    raise damaged(f"{what}: {listed}{rest}", "Pick the tank's inside by its name or number.")


def _measured(file: stepfile.File, number: int) -> Solid:
    name, shape = file.found[number - 1]
    volume_mm3, area_mm2, centroid_mm = brep.measured(shape)
    x, y, z = (c * 1e-3 / units.scale(file.unit) for c in centroid_mm)
    return Solid(number, name, file.unit, abs(volume_mm3) * 1e-9, area_mm2 * 1e-6, (x, y, z))
