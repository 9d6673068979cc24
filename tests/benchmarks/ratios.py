"""Prints how long the product and three general-purpose libraries take for the same work in the same process.

Run: python tests/benchmarks/ratios.py [TRIANGLES ...]     (needs the extra "bench")
"""

from __future__ import annotations

import platform
import resource
import sys
import time
from collections.abc import Callable

import bodies
import manifold3d
import numpy as np
import trimesh
import vtk
from vtk.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.stated.attitude import Attitude

LEVELS = 100
TILTED = Attitude.of_degrees(5.0, 3.0).up
LEVEL = Attitude.of_degrees(0.0, 0.0).up


def seconds(work: Callable[[], object], least_s: float = 0.3, most: int = 30) -> float:
    """Median time of one call, over calls that last so long together."""
    times = []
    while len(times) < most and (not times or sum(times) < least_s):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def product_table(cavity: Cavity, up: np.ndarray, levels: np.ndarray) -> np.ndarray:
    """Volumes below levels counted from the lowest point, all work of a new attitude included."""
    tilted = Tilted.of(cavity, up)
    return tilted.volume_and_area(tilted.low_m + levels)[0]


def trimesh_table(mesh: trimesh.Trimesh, up: np.ndarray, levels: np.ndarray, low: float) -> np.ndarray:
    """Slice and cap at each level."""
    return np.array([mesh.slice_plane(up * (low + h), -up, cap=True).volume for h in levels])


def manifold_table(solid: manifold3d.Manifold, up: np.ndarray, levels: np.ndarray, low: float) -> np.ndarray:
    """Trim at each level: exact."""
    return np.array([solid.trim_by_plane(tuple(-up), -(low + h)).volume() for h in levels])


def slices_table(placed: manifold3d.Manifold, low: float, high: float) -> np.ndarray:
    """Areas of 201 slices of the turned body, summed by Simpson's rule: what a careful person would do without our kernel."""
    heights = np.linspace(low, high, 201)
    areas = np.array([placed.slice(float(h)).area() for h in heights])
    step = heights[1] - heights[0]
    return np.cumsum((areas[:-2:2] + 4.0 * areas[1:-1:2] + areas[2::2]) * step / 3.0)


def vtk_body(vertices: np.ndarray, faces: np.ndarray) -> vtk.vtkPolyData:
    """The body as VTK holds it."""
    body, points, cells = vtk.vtkPolyData(), vtk.vtkPoints(), vtk.vtkCellArray()
    points.SetDataTypeToDouble()
    points.SetData(numpy_to_vtk(vertices, deep=1))
    starts = np.arange(0, 3 * len(faces) + 1, 3, dtype=np.int64)
    cells.SetData(
        numpy_to_vtkIdTypeArray(starts, deep=1), numpy_to_vtkIdTypeArray(faces.astype(np.int64).ravel(), deep=1)
    )
    body.SetPoints(points)
    body.SetPolys(cells)
    return body


def vtk_table(body: vtk.vtkPolyData, up: np.ndarray, levels: np.ndarray, low: float) -> np.ndarray:
    """Closed clip at each level, then the clipped surface's volume."""
    planes, plane = vtk.vtkPlaneCollection(), vtk.vtkPlane()
    plane.SetNormal(*(-up))
    planes.AddItem(plane)
    clip, mass = vtk.vtkClipClosedSurface(), vtk.vtkMassProperties()
    triangles = vtk.vtkTriangleFilter()
    clip.SetInputData(body)
    clip.SetClippingPlanes(planes)
    triangles.SetInputConnection(clip.GetOutputPort())
    mass.SetInputConnection(triangles.GetOutputPort())
    found = []
    for h in levels:
        plane.SetOrigin(*(up * (low + h)))
        clip.Modified()
        mass.Update()
        found.append(mass.GetVolume())
    return np.array(found)


def row(name: str, vertices: np.ndarray, faces: np.ndarray, up: np.ndarray, patient: bool) -> dict[str, float]:
    """Times and errors of all on one body at one attitude."""
    cavity = Cavity.of(vertices, faces)
    tilted = Tilted.of(cavity, up)
    low, height = tilted.low_m, tilted.high_m - tilted.low_m
    levels = np.linspace(0.0, height, LEVELS + 2)[1:-1]
    local = np.array(cavity.vertices_m)
    solid = manifold3d.Manifold(manifold3d.Mesh64(local, np.array(cavity.faces, dtype=np.uint64)))
    placed = manifold3d.Manifold(manifold3d.Mesh64(tilted.placed_m, np.array(cavity.faces, dtype=np.uint64)))
    body = vtk_body(local, cavity.faces)
    mesh = trimesh.Trimesh(local, np.array(cavity.faces), process=False)
    product_table(cavity, up, levels)
    ours = seconds(lambda: product_table(cavity, up, levels))
    plane = seconds(lambda: product_table(cavity, up, levels[50:51]))
    exact = manifold_table(solid, up, levels[::10], low)
    error = float(np.abs(product_table(cavity, up, levels[::10]) / exact - 1.0).max())
    few = levels[:: 1 if patient else 20]
    return {
        "triangles": len(faces),
        "ours_s": ours,
        "plane_s": plane,
        "error": error,
        "trimesh": seconds(lambda: trimesh_table(mesh, up, few, low), 0.0, 1) * LEVELS / len(few) / ours,
        "vtk": seconds(lambda: vtk_table(body, up, few, low), 0.0, 1) * LEVELS / len(few) / ours,
        "vtk_plane": seconds(lambda: vtk_table(body, up, levels[50:51], low), 0.3, 5) / plane,
        "trim": seconds(lambda: manifold_table(solid, up, few, low), 0.0, 1) * LEVELS / len(few) / ours,
        "slices": seconds(lambda: slices_table(placed, tilted.low_m, tilted.high_m), 0.3, 5) / ours,
    }


def main() -> None:
    """Print the table in Markdown."""
    sizes = [int(text) for text in sys.argv[1:]] or [5_000, 50_000, 500_000, 1_000_000]
    print(f"{platform.machine()}, Python {platform.python_version()}, one thread; times of others over ours\n")
    print(
        "| body | attitude | triangles | 100 levels | one plane | error | trimesh | VTK | VTK, one plane | trim | 201 slices |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|---|")
    growth = {}
    for name, make in (("smooth", bodies.smooth_tank), ("baffled", bodies.baffled_tank)):
        for size in sizes:
            vertices, faces = make(size)
            for attitude, up in (("tilted", TILTED), ("level", LEVEL)):
                r = row(name, vertices, faces, up, size <= 50_000)
                growth.setdefault((name, attitude), []).append((r["triangles"], r["ours_s"]))
                print(
                    f"| {name} | {attitude} | {r['triangles']:.0f} | {r['ours_s'] * 1e3:.2f} ms"
                    f" | {r['plane_s'] * 1e3:.2f} ms | {r['error']:.0e} |"
                    f" {r['trimesh']:.0f} | {r['vtk']:.0f} | {r['vtk_plane']:.1f} | {r['trim']:.0f} | {r['slices']:.1f} |",
                    flush=True,
                )
    print()
    for (name, attitude), points in growth.items():
        if len(points) > 1:
            slope = np.polyfit(np.log([n for n, _ in points]), np.log([t for _, t in points]), 1)[0]
            print(f"time grows as n^{slope:.2f} ({name}, {attitude})")
    print(
        f"peak memory of the whole run, other libraries included: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB"
    )


if __name__ == "__main__":
    main()
