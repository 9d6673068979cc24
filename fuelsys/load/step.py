"""STEP: true solids, read and facetted by the geometry library of the extra "step"; nothing else imports that library.

A solid's faces are facetted one by one, but along an edge that two faces share the library places their corners one for
one. They are joined by that number on that edge, never by distance, so the facets of a closed solid close bit by bit.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fuelsys import units
from fuelsys.errors import MeshError
from fuelsys.kernels import surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.load.raw import counted, damaged

try:
    from OCP.BRep import BRep_Tool
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepTools import BRepTools
    from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeMap
    from OCP.collections import Sequence_TCollection_AsciiString as Words
    from OCP.collections import Sequence_TDF_Label as Labels
    from OCP.GProp import GProp_GProps
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Message import Message
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.StepShape import StepShape_ManifoldSolidBrep
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_Label
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED, TopAbs_SHELL, TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool
except ImportError as fault:
    raise MeshError(
        "reading STEP needs a geometry library that is not installed",
        mend='Install it with: pip install "fuelsys[step]", or export the surface as STL.',
    ) from fault
