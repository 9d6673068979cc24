"""The work of step.py, in a process of its own (python -m): reads a STEP file, picks a solid, facets it twice."""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterator

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats, Ints
from fuelsys.errors import BodiesError, MeshError
from fuelsys.kernels import points, surface
from fuelsys.load.formats import brep, stepfile
from fuelsys.load.formats.raw import PICK, counted, damaged, is_number, listed
from fuelsys.load.formats.step import COARSER, Body, Solid
from fuelsys.model.words import Doubt

_TURN_RAD = 0.25  # of the surface from facet to facet
_MOST_CORNERS = 8  # of another solid, from which is asked whether it lies in the one that was picked
_CLEAR_MM = 0.1  # a corner nearer to the facets is taken to lie on them
_MOST_FACETS_LONG = 2e5  # size of a solid over the tolerance: beyond, the library would take hours and all memory


def solids(data: bytes) -> list[Solid]:
    """All solids of a file in its order."""
    file = stepfile.read(data)
    return [_measured(file, k) for k in range(1, len(file.found) + 1)]


def facetted(data: bytes, tolerance_m: float, pick: str) -> tuple[Body, float]:
    """The solid that was asked for, and how far its faces may miss each other along the edges (m)."""
    file = stepfile.read(data)
    number = _picked(file, pick)
    solid, shape = _measured(file, number), file.found[number - 1].shape
    _check_size(solid, tolerance_m)
    coarse_mm3 = surface.enclosed_volume(*brep.facets(shape, tolerance_m * 1e3 * COARSER, _TURN_RAD * 2.0))
    vertices_mm, faces = brep.facets(shape, tolerance_m * 1e3, _TURN_RAD)
    fine_mm3 = surface.enclosed_volume(vertices_mm, faces)
    vertices = vertices_mm * (1e-3 / units.scale(file.unit))
    notes = (*file.notes, *_left_out(file, solid, np.ascontiguousarray(vertices_mm), faces))
    body = Body(solid, vertices, faces, tolerance_m, abs(coarse_mm3) * 1e-9, abs(fine_mm3) * 1e-9, notes)
    return body, brep.play_mm(shape) * 1e-3


def _left_out(file: stepfile.File, solid: Solid, vertices_mm: Floats, faces: Ints) -> Iterator[str]:
    """What is to be said of the other solids: that they were left out, and which of them lie inside this one."""
    if len(file.found) < 2:
        return
    yield f"of {len(file.found)} solids in the file, {solid.number} {solid.title} was taken, the others were left out"
    inside = [
        k
        for k, other in enumerate(file.found, 1)
        if k != solid.number and _lies_in(brep.corners(other.shape), vertices_mm, faces)
    ]
    if inside:
        shown = [_measured(file, k) for k in inside]
        held = listed([(s.number, s.volume_m3, str(s)) for s in shown])
        yield Doubt(f"what was left out lies inside it, and its room counts as fuel's: {held}")


def _lies_in(corners_mm: Floats, vertices_mm: Floats, faces: Ints) -> bool:
    """Whether a corner of another solid, or the middle of them, lies within the facets, and not just on them."""
    low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    places = np.vstack([corners_mm[:: max(1, len(corners_mm) // _MOST_CORNERS)], corners_mm.mean(axis=0)])
    for place in places[((places > low) & (places < high)).all(axis=1)]:
        _, wall = points.nearest(place, vertices_mm, faces)
        if np.linalg.norm(place - wall) > _CLEAR_MM and abs(points.winding(place, vertices_mm, faces)) > 0.5:
            return True
    return False


def _check_size(solid: Solid, tolerance_m: float) -> None:
    size_m = solid.area_m2**0.5
    if not 0.0 < solid.volume_m3 < np.inf:
        raise damaged("the solid encloses no volume", "Export the tank's inside as a solid.")
    if not size_m < _MOST_FACETS_LONG * tolerance_m:
        found = f"it is about {size_m:.3g} m large, too large for facets made for {tolerance_m * 1e3:g} mm"
        raise damaged(found, "Look at the unit of the export, or state a larger tolerance.")


def _picked(file: stepfile.File, pick: str) -> int:
    """The number of the solid that was asked for, counted from one; none is taken unasked where others were lost."""
    numbers = range(1, len(file.found) + 1)
    asked = [k for k in numbers if pick in (file.found[k - 1].name, file.found[k - 1].name.rpartition("/")[2])]
    if not pick:
        asked = list(numbers)
    elif not asked and is_number(pick):
        asked = [k for k in numbers if k == int(pick)]
    if len(asked) == 1 and (pick or not file.lost):
        return asked[0]
    which = f" named {units.shown(pick)}" if pick else ""
    what = f"{counted(len(asked), 'solid')}{which} can be read in it"
    if file.lost:
        what = f"{what}, {file.lost} cannot"
    shown = [_measured(file, k) for k in asked or numbers]
    found = f"{what}: {listed([(s.number, s.volume_m3, str(s)) for s in shown])}"
    raise BodiesError(found, mend=PICK, field="body" if pick else "")


def _measured(file: stepfile.File, number: int) -> Solid:
    name, shape = file.found[number - 1]
    volume_mm3, area_mm2, centroid_mm = brep.measured(shape)
    x, y, z = (c * 1e-3 / units.scale(file.unit) for c in centroid_mm)
    return Solid(number, name, file.unit, abs(volume_mm3) * 1e-9, area_mm2 * 1e-6, (x, y, z))


QUESTIONS: dict[str, Callable[..., object]] = {"solids": solids, "facetted": facetted}


def main() -> None:
    """A question from standard input, its answer or refusal to standard output, pickled."""
    with os.fdopen(os.dup(1), "wb") as out:
        os.dup2(2, 1)  # the library talks on standard output
        question, about = pickle.load(sys.stdin.buffer)
        try:
            answer, refusal = QUESTIONS[question](*about), None
        except MeshError as fault:
            answer, refusal = None, (type(fault), fault.found, fault.mend, fault.field)
        pickle.dump((answer, refusal), out)


if __name__ == "__main__":
    main()
