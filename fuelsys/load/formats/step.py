"""STEP: true solids, facetted by the geometry library of the extra "step", which works in a process of its own.

That library is large and slow to start, crashes on some damaged files, and after one may wait for ever on the next. None of
it reaches us from there: an answer comes, or a line that says why not.

The geometry library (extra `step`, `cadquery-ocp-novtk>=8,<9`) works in a process of its own (`load/formats/step.py` asks,
`load/formats/stepwork.py` answers): it is 376 MB, takes a second or more to start, crashes on some damaged files, and may
hang on the next file after one. None of it reaches the caller: an answer comes, or one line that says why not, after ten
minutes at most. **Never
install the variant with VTK (`cadquery-ocp`) beside it**: both own the package `OCP`, and what is left of it after one is taken
out does not import.

- *Solids.* All are found with their names and places in the assembly; one is picked (`body`, `--body`), by the same rule as
  above. Texts with unresolved references are refused before the library reads them, since it would lose solids in silence; solids
  that it lost all the same are counted and said. A file with one closed surface and no solid will do.
- *Facets* of the solid's faces are joined along edges by their number on the edge, never by distance, so they close bit by bit.
- *Tolerance* (`tolerance`, `--tolerance`; `step.TOLERANCE_M` where nothing is said, and then written into a new design file) is
  what the library is asked for: how far facets may lie off the surface. On balls and rings up to 1 % of the facets lay up to 2.1
  times it off (measured). Formats that hold facets refuse a tolerance.
- *What the facets hide* is measured: the library integrates the true volume over the curved surfaces, the facets' volume is
  exact, and a second facetting at four times the tolerance (sides twice as long) is carried on with it to none. The note gives
  all three. Where true and facetted volume differ by more than the area times the tolerance, the file is refused: faces overlap
  or are inside out.
- Not read: BREP, which has no unit, and IGES, which most often holds loose surfaces and would have to be sewn by distance.

STEP's tests write their files with the library (`tests/stepfiles.py`) and skip where it is missing; the extra `test` brings it
(67 MB to fetch, 5 s to unpack of the 110 s that all of the extra takes). `tests/fuzz_doors.py` gives it one file in a hundred, since
each costs a process.
"""

from __future__ import annotations

import importlib.util
import pickle
import subprocess
import sys
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats, Ints
from fuelsys.load.formats import kept
from fuelsys.load.formats.raw import Choice, Raw, damaged
from fuelsys.model.words import Doubt

# How far facets may lie off the true surface where the person says nothing. Common practice, no source: sheet is bent to a
# tenth of a millimetre at best. The library means it, but on balls and rings up to one facet in a hundred lay up to 2.1 times
# it off (measured). Its time grows with the square of the number of facets, hence the least.
TOLERANCE_M, LEAST_TOLERANCE_M, MOST_TOLERANCE_M = 5e-5, 1e-5, 2e-3


class OfTheSolid(str):
    """A note on the true solid and its facets as they were made: where they are changed it no longer holds."""

    __slots__ = ()


COARSER = 4.0  # tolerance of the second facetting: sides twice as long
_MOST_SECONDS = 600.0
_AGAIN = "Export it again, or export the surface as STL."


@dataclass(frozen=True)
class Solid:
    """One solid as the file lists it: its true volume and area (no facets) and its centroid in the file's own unit."""

    number: int
    name: str
    unit: str
    volume_m3: float
    area_m2: float
    centroid: tuple[float, float, float]

    @property
    def title(self) -> str:
        """The last part of its name in a sentence."""
        return units.shown(self.name.rpartition("/")[2])

    def __str__(self) -> str:
        """Number, last part of the name, volume and place, as a list shows them."""
        place = ", ".join(f"{round(c, 6) + 0.0:.4g}" for c in self.centroid)
        return f"{self.number} {self.title} {self.volume_m3 * 1e3:.4g} L about ({place}) {self.unit}"


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
        return self.fine_m3 + (self.fine_m3 - self.coarse_m3) / (COARSER - 1.0)

    @property
    def raw(self) -> Raw:
        """As every mesh reader hands it on."""
        return Raw(self.vertices, self.faces.astype(np.int64), self.solid.unit, self.notes)


def read_step(data: bytes, choice: Choice) -> Raw:
    """The solid that a person picked, as facets made for the tolerance that they stated, or for the usual one."""
    tolerance_m = TOLERANCE_M if choice.tolerance_m is None else choice.tolerance_m
    return read(data, tolerance_m, choice.body).raw


def solids(data: bytes) -> tuple[Solid, ...]:
    """All solids of a STEP file in the file's order, without facets."""
    return tuple(_asked("solids", data))


def read(data: bytes, tolerance_m: float = TOLERANCE_M, pick: str = "") -> Body:
    """One solid of a STEP file, picked by name or number where there are several, as facets made for a tolerance."""
    if not LEAST_TOLERANCE_M <= tolerance_m <= MOST_TOLERANCE_M:
        limits = f"{LEAST_TOLERANCE_M * 1e3:g} mm to {MOST_TOLERANCE_M * 1e3:g} mm"
        raise damaged(
            f"facets cannot be made for {tolerance_m * 1e3:g} mm", f"Give a tolerance of {limits}.", "tolerance"
        )
    name = kept.key(data, tolerance_m, pick)
    known = kept.found(name)
    body, play_m = _restored(*known) if known else _asked("facetted", data, tolerance_m, pick)
    _check_agreement(body, play_m)
    if not known:
        fields = {"solid": asdict(body.solid), "tolerance_m": body.tolerance_m, "coarse_m3": body.coarse_m3}
        fields |= {
            "fine_m3": body.fine_m3,
            "notes": [[note, isinstance(note, Doubt)] for note in body.notes],
            "play_m": play_m,
        }
        kept.keep(name, fields, body.vertices, body.faces)
    return replace(body, notes=(*body.notes, _what_facets_hide(body)))


def _restored(fields: dict[str, Any], vertices: Floats, faces: Ints) -> tuple[Body, float]:
    """What was kept as it was made."""
    solid = Solid(**{**fields["solid"], "centroid": tuple(fields["solid"]["centroid"])})
    measured = (fields["tolerance_m"], fields["coarse_m3"], fields["fine_m3"])
    return Body(
        solid, vertices, faces, *measured, tuple(Doubt(note) if doubt else note for note, doubt in fields["notes"])
    ), fields["play_m"]


def _asked(question: str, *about: Any) -> Any:
    """What stepwork.py answers in a process of its own; MeshError where it refuses, crashes or takes too long."""
    if importlib.util.find_spec("OCP") is None:
        raise damaged(
            "STEP is read by a geometry library that is not installed",
            'Install it with pip install "fuelsys[step]", or export the surface as STL.',
        )
    try:
        ran = subprocess.run(
            [sys.executable, "-P", "-m", "fuelsys.load.formats.stepwork"],
            input=pickle.dumps((question, about)),
            capture_output=True,
            timeout=_MOST_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired as fault:
        raise damaged(f"the geometry library did not finish in {_MOST_SECONDS / 60.0:g} min", _AGAIN) from fault
    if ran.returncode != 0:
        said = ran.stderr.decode("utf-8", "backslashreplace").strip().splitlines() if ran.returncode > 0 else []
        why = f" ({units.shown(said[-1])})" if said else ": it crashed"
        raise damaged(f"the geometry library failed on it{why}", _AGAIN)
    answer, refusal = pickle.loads(ran.stdout)  # from our own process
    if refusal:
        kind, found, mend, field = refusal
        raise kind(found, mend=mend, field=field)
    return answer


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
        return OfTheSolid(f"the true solid holds {true_m3 * 1e3:.6g} L; {facets} the same")
    lack = f"{units.plain(abs(hidden_m3) * 1e6, 3)} mL ({units.plain(abs(share) * 100.0, 2)} %) {sense}"
    carried = f"facets twice as long and these, carried on to none, give {body.extrapolated_m3 * 1e3:.6g} L"
    return OfTheSolid(f"the true solid holds {true_m3 * 1e3:.6g} L; {facets} {lack}; {carried}")
