"""Solids of the geometry library, the STEP files that it writes of them, and what facets of a solid must be."""

from __future__ import annotations

import math
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
from numpy.testing import assert_allclose
from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCylinder,
)
from OCP.gp import gp_Trsf, gp_Vec
from OCP.Interface import Interface_Static
from OCP.Message import Message
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shell
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from fuelsys.kernels import surface
from fuelsys.load.formats import brep, step

Shape = Any
PI = math.pi


def written(shape: Shape, unit: str = "MM") -> bytes:
    """What the library writes for a shape, in a unit of length."""
    for printer in list(Message.DefaultMessenger_s().Printers()):
        Message.DefaultMessenger_s().RemovePrinter(printer)
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", unit)
    writer.Transfer(shape, STEPControl_AsIs)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    return _text(writer)


def _text(writer: Any) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shape.step"
        writer.Write(str(path))
        return path.read_bytes()


def assembled(*parts: tuple[str, Shape, tuple[float, float, float]]) -> bytes:
    """What the library writes for an assembly of (name, shape, place in mm)."""
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    whole = tool.NewShape()
    TDataStd_Name.Set_s(whole, TCollection_ExtendedString("wing"))
    for name, shape, place in parts:
        part = tool.AddShape(shape, False)
        TDataStd_Name.Set_s(part, TCollection_ExtendedString(f"product of {name}"))
        instance = tool.AddComponent(whole, part, TopLoc_Location(translation(*place)))
        TDataStd_Name.Set_s(instance, TCollection_ExtendedString(name))
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    writer.Transfer(document, STEPControl_AsIs)
    return _text(writer)


@cache
def wing() -> bytes:
    """An assembly of a left tank (a box of 6 L) and a header (a cylinder)."""
    header = BRepPrimAPI_MakeCylinder(50.0, 200.0).Solid()
    return assembled(("left tank", box(), (0.0, 0.0, 0.0)), ("header", header, (1000.0, 0.0, 0.0)))


def box(x: float = 100.0, y: float = 200.0, z: float = 300.0) -> Shape:
    return BRepPrimAPI_MakeBox(x, y, z).Solid()


def drilled() -> Shape:
    """A cube of 100 mm with a hole of 40 mm right through it."""
    drill = BRepPrimAPI_MakeCylinder(20.0, 200.0).Solid()
    drill.Move(TopLoc_Location(translation(50.0, 50.0, -50.0)))
    return BRepAlgoAPI_Cut(box(100.0, 100.0, 100.0), drill).Shape()


def rounded() -> Shape:
    """A box of 100 x 60 x 40 mm, all edges rounded to 10 mm."""
    plain = box(100.0, 60.0, 40.0)
    fillet = BRepFilletAPI_MakeFillet(plain)
    for edge in brep.explored(plain, TopAbs_EDGE):
        fillet.Add(10.0, TopoDS.Edge(edge))
    return fillet.Shape()


def translation(x: float, y: float, z: float) -> gp_Trsf:
    move = gp_Trsf()
    move.SetTranslation(gp_Vec(x, y, z))
    return move


def shell_of(shape: Shape, left_out: int = 0) -> TopoDS_Shell:
    """The faces of a solid as a shell, without the first few."""
    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for face in list(brep.explored(shape, TopAbs_FACE))[left_out:]:
        builder.Add(shell, face)
    return shell


def compound_of(*shapes: Shape) -> TopoDS_Compound:
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for shape in shapes:
        builder.Add(compound, shape)
    return compound


def assert_closed(body: step.Body, handles: int = 0, shells: int = 1) -> None:
    """Every edge joins two faces wound alike (an independent library says so), and V - E + F is that of the solid."""
    edges = surface.undirected_edges(body.faces)
    assert len(body.vertices) - len(edges) + len(body.faces) == 2 * (shells - handles)
    assert len(np.unique(body.vertices, axis=0)) == len(body.vertices)
    solid = manifold3d.Manifold(manifold3d.Mesh64(body.vertices, body.faces.astype(np.uint64)))
    assert solid.status() == manifold3d.Error.NoError
    assert solid.num_tri() > 0
    metre = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}[body.solid.unit]
    assert_allclose(solid.volume() * metre**3, body.fine_m3, rtol=1e-12)
