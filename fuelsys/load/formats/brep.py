"""True solids of the geometry library: measured by integration, and facetted so that the facets close bit by bit.

A solid's faces are facetted one by one. Along an edge the library places the corners of both faces one for one; they are
joined here by their number on that edge, never by distance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeNumbers
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_FORWARD, TopAbs_REVERSED, TopAbs_ShapeEnum, TopAbs_VERTEX
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from fuelsys.arrays import Floats, Ints
from fuelsys.load.formats.raw import Indices, counted, damaged

Shape = Any  # the library says nothing of its types
_INTEGRATION = 1e-6  # relative error asked of each face's share; what comes out is a thousand times better as a rule
_KNIT = "Knit the faces to one closed solid in CAD and export again."


def explored(shape: Shape, kind: TopAbs_ShapeEnum) -> Iterator[Shape]:
    """All faces, edges, shells or solids of a shape, as often as they stand in it."""
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def measured(shape: Shape) -> tuple[float, float, tuple[float, float, float]]:
    """Volume (mm3), area (mm2) and centroid (mm) by adaptive integration over the true surfaces.

    Not the library's plain integration: on real files that was off by up to 2e-4, and does not say so.
    """
    volume, area = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, volume, _INTEGRATION)
    BRepGProp.SurfaceProperties_s(shape, area, _INTEGRATION)
    return volume.Mass(), area.Mass(), volume.CentreOfMass().Coord()


def play_mm(shape: Shape) -> float:
    """How far the faces may miss each other along the edges, as the file states or the library found: the most."""
    return max((BRep_Tool.Tolerance_s(TopoDS.Edge(edge)) for edge in explored(shape, TopAbs_EDGE)), default=0.0)


def corners(shape: Shape) -> Floats:
    """The corners (n, 3) of a solid in mm; a closed curved face has one at its seam."""
    return np.array([BRep_Tool.Pnt_s(TopoDS.Vertex(v)).Coord() for v in explored(shape, TopAbs_VERTEX)]).reshape(-1, 3)


@dataclass
class _Patches:
    """The facets of all faces side by side, and which corners are one."""

    corners: list[Floats] = field(default_factory=list)
    triangles: list[Indices] = field(default_factory=list)
    pairs: list[Indices] = field(default_factory=list)
    edges: Any = field(default_factory=ShapeNumbers)
    first: dict[int, Indices] = field(default_factory=dict)  # edge -> its corners on the first face
    uses: dict[int, int] = field(default_factory=dict)  # edge -> sides of faces that lie along it
    n_corners: int = 0

    def add(self, face: Shape) -> None:
        """The facets of one face, in place."""
        place = TopLoc_Location()
        patch = BRep_Tool.Triangulation_s(face, place)
        if patch is None:
            raise damaged("the library finds no facets for one of its faces", _KNIT)
        points = np.array([patch.Node(k).Coord() for k in range(1, patch.NbNodes() + 1)])
        turn = place.Transformation()
        moves = np.array([[turn.Value(i, j) for j in range(1, 5)] for i in range(1, 4)])
        triangles = np.array([patch.Triangle(k).Get() for k in range(1, patch.NbTriangles() + 1)], dtype=np.int64)
        if face.Orientation() == TopAbs_REVERSED:
            triangles = triangles[:, ::-1]
        for edge in explored(face, TopAbs_EDGE):
            self._join(TopoDS.Edge(edge), patch, place)
        self.corners.append(points @ moves[:, :3].T + moves[:, 3])
        self.triangles.append(triangles - 1 + self.n_corners)
        self.n_corners += len(points)

    def _join(self, edge: Shape, patch: Any, place: Any) -> None:
        polygon = BRep_Tool.PolygonOnTriangulation_s(edge, patch, place)
        if polygon is None:
            raise damaged("the library finds no facets along one of its edges", _KNIT)
        # not list(polygon.Nodes()): the library ends every loop over a list of its own with an exception of 2 ms
        nodes = [polygon.Node(k) for k in range(1, polygon.NbNodes() + 1)]
        along = np.array(nodes, dtype=np.int64) - 1 + self.n_corners
        if BRep_Tool.Degenerated_s(edge):  # a pole: all its corners are one point
            self.pairs.append(np.column_stack([along[:-1], along[1:]]))
            return
        number = self.edges.Add(edge)
        first = self.first.setdefault(number, along)
        if len(first) != len(along):
            raise damaged("two of its faces do not agree about their common edge", _KNIT)
        self.pairs.append(np.column_stack([first, along]))
        borders = edge.Orientation() in (TopAbs_FORWARD, TopAbs_REVERSED)  # else it lies inside the face
        self.uses[number] = self.uses.get(number, 0) + (1 if borders else 2)


def facets(shape: Shape, tolerance_mm: float, turn_rad: float) -> tuple[Floats, Ints]:
    """A solid's facets made for a tolerance: vertices (n, 3) in mm, faces (m, 3); MeshError where it is open.

    turn_rad is the most turn of the surface from facet to facet: it keeps small fillets round.
    """
    BRepTools.Clean_s(shape)  # or facets that are there already would be kept
    BRepMesh_IncrementalMesh(shape, tolerance_mm, False, turn_rad, False)
    patches = _Patches()
    for face in explored(shape, TopAbs_FACE):
        patches.add(TopoDS.Face(face))
    corners = np.concatenate(patches.corners)
    _check_closed(patches, corners)
    parent = _one(patches.n_corners, np.concatenate(patches.pairs))
    faces = parent[np.concatenate(patches.triangles)]
    a, b, c = faces.T
    used, renamed = np.unique(faces[(a != b) & (b != c) & (c != a)], return_inverse=True)
    return corners[used], renamed.reshape(-1, 3).astype(np.int32)


def _check_closed(patches: _Patches, corners: Floats) -> None:
    single = [number for number, uses in patches.uses.items() if uses == 1]
    if single:
        x, y, z = corners[patches.first[single[0]][0]]
        what = counted(len(single), "edge of its faces joins", "edges of its faces join")
        raise damaged(f"it is open: {what} no second face, the first near ({x:.6g}, {y:.6g}, {z:.6g}) mm", _KNIT)


def _one(number: int, pairs: Indices) -> Indices:
    """Corners that are one, directly or through others, named by the first of them: (number,)."""
    parent = np.arange(number)
    while True:
        one, two = parent[pairs[:, 0]], parent[pairs[:, 1]]
        if np.array_equal(one, two):
            return parent
        np.minimum.at(parent, one, two)
        np.minimum.at(parent, two, one)
        while not np.array_equal(parent, parent[parent]):
            parent = parent[parent]
