"""STEP: true solids, read and facetted by the geometry library of the extra "step".

This file and brep.py are imported only when a STEP file is read (see files.py): the library is large and slow to start.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from fuelsys import units
from fuelsys.errors import MeshError
from fuelsys.kernels import surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.load.raw import Raw, counted, damaged

try:
    from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeNumbers
    from OCP.collections import Sequence_TCollection_AsciiString as Words
    from OCP.collections import Sequence_TDF_Label as Labels
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Message import Message
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.StepShape import StepShape_ManifoldSolidBrep
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_Label
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopAbs import TopAbs_ShapeEnum, TopAbs_SHELL, TopAbs_SOLID
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

    from fuelsys.load import brep
except ImportError as fault:
    raise MeshError(
        "STEP is read by a geometry library that is not installed",
        mend='Install it with pip install "fuelsys[step]", or export the surface as STL.',
    ) from fault

# How far facets may lie off the true surface where the person says nothing. Common practice, no source: sheet is bent to a
# tenth of a millimetre at best. The library means it, but on balls and rings up to one facet in a hundred lay up to 2.1 times
# it off (measured). Its time grows with the square of the number of facets, hence the least.
TOLERANCE_M, LEAST_TOLERANCE_M, MOST_TOLERANCE_M = 5e-5, 1e-5, 2e-3
_TURN_RAD = 0.25  # of the surface from facet to facet
_COARSER = 4.0  # tolerance of the second facetting: sides twice as long
_MOST_LISTED = 8
_UNITS = {"millimetre": "mm", "centimetre": "cm", "metre": "m", "micrometre": "um", "inch": "in", "foot": "ft"}
_NO_NAME = re.compile(r"(NAUO|=>)?[\W\d]*")  # what translators write where the CAD system gave an instance no name


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


class _Found(NamedTuple):
    """A solid of the library with the name that the file gives it."""

    name: str
    shape: brep.Shape


class _Part(NamedTuple):
    """A part of an assembly: the names on the way to it, its shape, and where its instances place it."""

    path: tuple[str, ...]
    shape: brep.Shape
    place: Any


class _File(NamedTuple):
    """What a file holds: its unit, its solids, and how many solids the library could not read."""

    unit: str
    found: list[_Found]
    lost: int
    notes: tuple[str, ...]


def solids(data: bytes) -> tuple[Solid, ...]:
    """All solids of a STEP file in the file's order, without facets."""
    file = _contents(data)
    return tuple(_measured(file, k) for k in range(1, len(file.found) + 1))


def read(data: bytes, tolerance_m: float = TOLERANCE_M, pick: str = "") -> Body:
    """One solid of a STEP file, picked by name or number where there are several, as facets made for a tolerance."""
    if not LEAST_TOLERANCE_M <= tolerance_m <= MOST_TOLERANCE_M:
        limits = f"{LEAST_TOLERANCE_M * 1e3:g} mm to {MOST_TOLERANCE_M * 1e3:g} mm"
        raise damaged(f"facets cannot be made within {tolerance_m * 1e3:g} mm", f"Give a tolerance of {limits}.")
    file = _contents(data)
    number = _picked(file, pick)
    solid, shape = _measured(file, number), file.found[number - 1].shape
    coarse_mm3 = surface.enclosed_volume(*brep.facets(shape, tolerance_m * 1e3 * _COARSER, _TURN_RAD * 2.0))
    vertices_mm, faces = brep.facets(shape, tolerance_m * 1e3, _TURN_RAD)
    fine_mm3 = surface.enclosed_volume(vertices_mm, faces)
    vertices = vertices_mm * (1e-3 / units.scale(file.unit))
    body = Body(solid, vertices, faces, tolerance_m, abs(coarse_mm3) * 1e-9, abs(fine_mm3) * 1e-9, file.notes)
    _check_agreement(body, brep.play_mm(shape) * 1e-3)
    return replace(body, notes=(*file.notes, _what_facets_hide(body)))


def _check_agreement(body: Body, play_m: float) -> None:
    """Facets miss at most the area times their mean distance, about half the tolerance; twice that means a fault."""
    if not 0.0 < body.solid.volume_m3 < np.inf:
        raise damaged("the solid encloses no volume", "Export the tank's inside as a solid.")
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


# --- what the file holds ---------------------------------------------------------------------------------------------


def _contents(data: bytes) -> _File:
    text = data.strip()
    if not text.startswith(b"ISO-10303-21;"):
        raise damaged('it does not begin with "ISO-10303-21;", as every STEP file does', "Export it again as STEP.")
    if not text.endswith(b"END-ISO-10303-21;"):
        raise damaged('the text ends before "END-ISO-10303-21;"; the file is cut off', "Export it again.")
    for printer in list(Message.DefaultMessenger_s().Printers()):  # the library would talk on standard output
        Message.DefaultMessenger_s().RemovePrinter(printer)
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    if reader.ReadStream("", io.BytesIO(data)) != IFSelect_RetDone:
        raise damaged("its text does not keep to the form of STEP")
    _check_text(reader)
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    XCAFDoc_DocumentTool.SetLengthUnit_s(document, 1e-3)  # millimetres, for which the library's own tolerances are made
    if not reader.Transfer(document):
        raise damaged("there is no shape in it", "Export the tank's inside as a solid.")
    labels = Labels()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(labels)
    parts = [part for label in labels for part in _parts(label, TopLoc_Location(), ())]
    found = [solid for part in parts for solid in _in_part(part, reader, TopAbs_SOLID)]
    unit, notes = _unit(reader)
    if not found:
        return _File(unit, [_shell(parts, reader)], 0, (*notes, "it holds a closed surface, not a solid"))
    lost = _lost(found, reader)
    if lost:
        notes = (*notes, f"{counted(lost, 'solid')} of the file could not be read as such")
    return _File(unit, found, lost, notes)


def _check_text(reader: Any) -> None:
    """Refuse a text in which an entity lacks what it refers to: the library goes on, loses solids and at times crashes."""
    faults = []
    checks = reader.Reader().WS().ModelCheckList(True)
    checks.Start()
    while checks.More():
        if checks.Value().HasFailed():
            faults.append((checks.Number(), checks.Value().CFail(1)))
        checks.Next()
    if faults:
        number, text = faults[0]
        where = f" in #{number}" if number else ""
        raise damaged(f"{counted(len(faults), 'entity is', 'entities are')} at fault, the first{where} ({text})")


def _unit(reader: Any) -> tuple[str, tuple[str, ...]]:
    lengths = Words()
    reader.Reader().FileUnits(lengths, Words(), Words())
    names = sorted({word.ToCString() for word in lengths})
    if not names:
        raise damaged("it does not say its unit of length", "Export it with a unit.")
    if len(names) == 1 and names[0].lower() in _UNITS:
        return _UNITS[names[0].lower()], ()
    listed = " and ".join(units.shown(name) for name in names)
    return "mm", (f"its lengths are in {listed}; they have been converted to mm",)


def _name(label: Any) -> str:
    name = TDataStd_Name()
    return name.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), name) else ""


def _parts(label: Any, place: Any, path: tuple[str, ...]) -> Iterator[_Part]:
    """Every part of an assembly, as often as it is placed in it."""
    if not XCAFDoc_ShapeTool.IsAssembly_s(label):
        yield _Part(path or (_name(label),), XCAFDoc_ShapeTool.GetShape_s(label), place)
        return
    components = Labels()
    XCAFDoc_ShapeTool.GetComponents_s(label, components, False)
    for component in components:
        product = TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(component, product)
        name = _name(component)
        name = _name(product) if _NO_NAME.fullmatch(name) else name
        yield from _parts(product, place.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(component)), (*path, name))


def _in_part(part: _Part, reader: Any, kind: TopAbs_ShapeEnum) -> list[_Found]:
    """The solids (or shells) of one part; where there are several, each with its own name as well."""
    shapes = list(brep.explored(part.shape, kind))
    transfer = reader.Reader().WS().TransferReader()
    found = []
    for k, shape in enumerate(shapes, 1):
        entity = transfer.EntityFromShapeResult(shape, 1)
        own = entity.Name().ToCString() if isinstance(entity, StepShape_ManifoldSolidBrep) and entity.Name() else ""
        names = part.path if len(shapes) == 1 and part.path[-1] else (*part.path, own or str(k))
        found.append(_Found("/".join(filter(None, names)), shape.Moved(part.place)))
    return found


def _shell(parts: Sequence[_Part], reader: Any) -> _Found:
    """The one surface of a file without solids."""
    shells = [shell for part in parts for shell in _in_part(part, reader, TopAbs_SHELL)]
    if len(shells) != 1:
        what = f"only {counted(len(shells), 'surface')}" if shells else "nor a surface"
        raise damaged(f"there is no solid in it, {what}", "Knit the surfaces to one solid in CAD and export again.")
    return shells[0]


def _lost(found: Sequence[_Found], reader: Any) -> int:
    """How many of the solids that the file states did not become solids: the library itself leaves them out silently."""
    model, distinct = reader.Reader().StepModel(), ShapeNumbers()
    stated = sum(isinstance(model.Value(k), StepShape_ManifoldSolidBrep) for k in range(1, model.NbEntities() + 1))
    for _, shape in found:
        distinct.Add(shape.Located(TopLoc_Location()))
    return max(0, stated - distinct.Size())


def _picked(file: _File, pick: str) -> int:
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


def _measured(file: _File, number: int) -> Solid:
    name, shape = file.found[number - 1]
    volume_mm3, area_mm2, centroid_mm = brep.measured(shape)
    x, y, z = (c * 1e-3 / units.scale(file.unit) for c in centroid_mm)
    return Solid(number, name, file.unit, abs(volume_mm3) * 1e-9, area_mm2 * 1e-6, (x, y, z))
