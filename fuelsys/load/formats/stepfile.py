"""What a STEP file holds, read by the geometry library: its unit, and its solids with their names, each in its place."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeNumbers
from OCP.collections import Sequence_TCollection_AsciiString as Words
from OCP.collections import Sequence_TDF_Label as Labels
from OCP.IFSelect import IFSelect_RetDone
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

from fuelsys import units
from fuelsys.load.formats import brep
from fuelsys.load.formats.raw import counted, damaged

_UNITS = {"millimetre": "mm", "centimetre": "cm", "metre": "m", "micrometre": "um", "inch": "in", "foot": "ft"}
_NO_NAME = re.compile(r"(NAUO|=>)?[\W\d]*")  # what translators write where the CAD system gave an instance no name


class Found(NamedTuple):
    """A solid of the library with the name that the file gives it."""

    name: str
    shape: brep.Shape


class Part(NamedTuple):
    """A part of an assembly: the names on the way to it, its shape, and where its instances place it."""

    path: tuple[str, ...]
    shape: brep.Shape
    place: Any


class File(NamedTuple):
    """What a file holds: its unit, its solids, and how many solids the library could not read."""

    unit: str
    found: list[Found]
    lost: int
    notes: tuple[str, ...]


def read(data: bytes) -> File:
    """All solids of a file's text; MeshError where it is no STEP or holds none."""
    if not data.lstrip().startswith(b"ISO-10303-21;"):
        raise damaged('it does not begin with "ISO-10303-21;", as every STEP file does', "Export it again as STEP.")
    if b"END-ISO-10303-21;" not in data:
        raise damaged('the text ends before "END-ISO-10303-21;"; the file is cut off', "Export it again.")
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    if reader.ReadStream("", io.BytesIO(data)) != IFSelect_RetDone:
        raise damaged("its text does not keep to the form of STEP")
    if reader.Reader().StepModel().NbEntities() == 0:
        raise damaged("there is nothing in it", "Export the tank's inside as a solid.")
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
        return File(unit, [_shell(parts, reader)], 0, (*notes, "it holds a closed surface, not a solid"))
    lost = _lost(found, reader)
    if lost:
        notes = (*notes, f"{counted(lost, 'solid')} of the file could not be read as such")
    return File(unit, found, lost, notes)


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
    if not names or "" in names:
        raise damaged("it does not say its unit of length", "Export it with a unit.")
    if len(names) == 1 and names[0].lower() in _UNITS:
        return _UNITS[names[0].lower()], ()
    listed = " and ".join(units.shown(name) for name in names)
    return "mm", (f"its lengths are in {listed}; they have been converted to mm",)


def _name(label: Any) -> str:
    name = TDataStd_Name()
    return name.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), name) else ""


def _parts(label: Any, place: Any, path: tuple[str, ...]) -> Iterator[Part]:
    """Every part of an assembly, as often as it is placed in it."""
    if not XCAFDoc_ShapeTool.IsAssembly_s(label):
        yield Part(path or (_name(label),), XCAFDoc_ShapeTool.GetShape_s(label), place)
        return
    components = Labels()
    XCAFDoc_ShapeTool.GetComponents_s(label, components, False)
    for component in components:
        product = TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(component, product)
        name = _name(component)
        name = _name(product) if _NO_NAME.fullmatch(name) else name
        yield from _parts(product, place.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(component)), (*path, name))


def _in_part(part: Part, reader: Any, kind: TopAbs_ShapeEnum) -> list[Found]:
    """The solids (or shells) of one part; where there are several, each with its own name as well."""
    shapes = list(brep.explored(part.shape, kind))
    transfer = reader.Reader().WS().TransferReader()
    found = []
    for k, shape in enumerate(shapes, 1):
        entity = transfer.EntityFromShapeResult(shape, 1)
        own = entity.Name().ToCString() if isinstance(entity, StepShape_ManifoldSolidBrep) and entity.Name() else ""
        names = part.path if len(shapes) == 1 and part.path[-1] else (*part.path, own or str(k))
        found.append(Found("/".join(filter(None, names)), shape.Moved(part.place)))
    return found


def _shell(parts: Sequence[Part], reader: Any) -> Found:
    """The one surface of a file without solids."""
    shells = [shell for part in parts for shell in _in_part(part, reader, TopAbs_SHELL)]
    if len(shells) != 1:
        what = f"only {counted(len(shells), 'surface')}" if shells else "nor a surface"
        raise damaged(f"there is no solid in it, {what}", "Knit the surfaces to one solid in CAD and export again.")
    return shells[0]


def _lost(found: Sequence[Found], reader: Any) -> int:
    """How many of the solids that the file states did not become solids: the library itself leaves them out silently."""
    model, distinct = reader.Reader().StepModel(), ShapeNumbers()
    stated = sum(isinstance(model.Value(k), StepShape_ManifoldSolidBrep) for k in range(1, model.NbEntities() + 1))
    for _, shape in found:
        distinct.Add(shape.Located(TopLoc_Location()))
    return max(0, stated - distinct.Size())
