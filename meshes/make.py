"""Makes the example tanks, two wing tanks and an aluminium header, as closed inside surfaces in binary STL files.

Run ``python -m fuelsys_meshes.make``, or ``python meshes/make.py OUT_DIR``. All tanks are invented. Everything is in
millimetres, with the mesh axes x aft, y right, z up. Each mesh has its own origin:

left.stl, right.stl   the inboard front lower corner; the right tank reaches outboard to y = +700, the left to y = −700.
header.stl            the left front corner in plan; z = 0 is the low, rear edge of the sloped floor.

``wing_landmarks`` and ``header_landmarks`` give the points that a design is written from: sumps, roofs, openings.
"""

import math
import sys
from pathlib import Path

import numpy as np
from manifold3d import CrossSection, Error, Manifold, Mesh64
from numpy.typing import NDArray

Point = tuple[float, float, float]

CHORD_ERROR_MM = 0.05  # how far a facet may lie inside the true curve
OVERSHOOT_MM = 50.0  # plates and posts are cut longer than the cavity, so that no two faces nearly coincide

# Wing tank, between two spars: one section along the span, rising outboard with the dihedral; plates and post upright.
CHORD_MM = 450.0
SPAN_MM = 700.0
DIHEDRAL_DEG = 1.5
FRONT_DEPTH_MM = 170.0
REAR_DEPTH_MM = 110.0
ROOF_CAMBER_MM = 16.0  # rise of the roof's parabola above its chord
FLOOR_SAG_MM = 3.0  # drop of the floor's parabola below its chord
RIB_THICKNESS_MM = 1.0
INBOARD_RIB_Y_MM = 230.0
OUTBOARD_RIB_Y_MM = 470.0
LIGHTENING_HOLES_MM = ((90.0, 44.0), (230.0, 38.0), (360.0, 30.0))  # (x, radius), centred at mid height
NOTCH_LENGTH_MM = 20.0  # mouse holes at the floor and air notches at the roof, in the corners of a rib
NOTCH_HEIGHT_MM = 12.0
SUMP_LENGTH_MM = 100.0  # recess in the floor, in the inboard rear corner
SUMP_WIDTH_MM = 80.0
SUMP_DEPTH_MM = 12.0
BAFFLE_X_MM = 250.0  # hangs from the roof across the middle bay, free at both ends and below
BAFFLE_THICKNESS_MM = 3.0
BAFFLE_Y_MM = (260.0, 440.0)
BAFFLE_FLOOR_GAP_MM = 40.0
POST_X_MM, POST_Y_MM, POST_RADIUS_MM = 200.0, 590.0, 12.0
# Each rib joins two bays by its openings: all but one of them add a handle to the surface, and so does the post.
WING_GENUS = (7 - 1) + (6 - 1) + 1

# Header.
LENGTH_MM = 200.0
WIDTH_MM = 160.0
ROOF_Z_MM = 260.0
FLOOR_RISE_MM = 30.0  # the floor is this much higher at the front than at the rear
EDGE_RADIUS_MM = 25.0
BORE_X_MM, BORE_Y_MM, BORE_RADIUS_MM, BORE_Z_MM = 180.0, 80.0, 25.0, -20.0  # sump; runs out against the rear wall
NECK_X_MM, NECK_Y_MM, NECK_RADIUS_MM, NECK_HEIGHT_MM = 45.0, 40.0, 28.0, 15.0  # a hemisphere closes the neck


def circle_facets(radius_mm: float) -> int:
    """Facets of a full circle within the chord error: a multiple of four, so that the axes are hit."""
    return 4 * math.ceil(math.pi / math.acos(1 - CHORD_ERROR_MM / radius_mm) / 4)


def floor_z_mm(x_mm: float, y_mm: float = 0.0) -> float:
    """Height of the right wing tank's floor beside the sump; for the left tank give −y."""
    s = x_mm / CHORD_MM
    return -4 * FLOOR_SAG_MM * s * (1 - s) + y_mm * math.tan(math.radians(DIHEDRAL_DEG))


def roof_z_mm(x_mm: float, y_mm: float = 0.0) -> float:
    """Height of the right wing tank's roof; for the left tank give −y."""
    s = x_mm / CHORD_MM
    straight = FRONT_DEPTH_MM + (REAR_DEPTH_MM - FRONT_DEPTH_MM) * s
    return straight + 4 * ROOF_CAMBER_MM * s * (1 - s) + y_mm * math.tan(math.radians(DIHEDRAL_DEG))


def mid_z_mm(x_mm: float) -> float:
    """Half-way between floor and roof at the inboard end."""
    return (floor_z_mm(x_mm) + roof_z_mm(x_mm)) / 2


def rectangle(x0: float, z0: float, x1: float, z1: float) -> CrossSection:
    """An axis-aligned rectangle between two corners."""
    return CrossSection.square((x1 - x0, z1 - z0)).translate((x0, z0))


def along_y(section: CrossSection, y0: float, y1: float) -> Manifold:
    """A section drawn in (x, z), extruded from y0 to y1."""
    upright = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, y0], [0.0, 1.0, 0.0, 0.0]])
    return Manifold.extrude(section, y1 - y0).transform(upright)


def post(x: float, y: float, z0: float, z1: float, radius_mm: float) -> Manifold:
    """An upright cylinder."""
    return Manifold.cylinder(z1 - z0, radius_mm, circular_segments=circle_facets(radius_mm)).translate((x, y, z0))


def wing_section() -> CrossSection:
    """The section of the wing tank in (x, z): a slightly bowed floor, a cambered roof, upright spars."""

    def stations(rise_mm: float) -> list[float]:
        # A parabola of rise b cut into n equal chords leaves them by b/n² at most.
        chords = math.ceil(math.sqrt(rise_mm / CHORD_ERROR_MM))
        return [CHORD_MM * i / chords for i in range(chords + 1)]

    floor = [(x, floor_z_mm(x)) for x in stations(FLOOR_SAG_MM)]
    roof = [(x, roof_z_mm(x)) for x in stations(ROOF_CAMBER_MM)]
    return CrossSection([np.array(floor + roof[::-1])])


def rib(y_mm: float, *, aft_mouse_hole: bool) -> Manifold:
    """A rib: lightening holes at mid height, in its corners mouse holes at the floor and air notches at the roof."""
    front, rear = (-OVERSHOOT_MM, NOTCH_LENGTH_MM), (CHORD_MM - NOTCH_LENGTH_MM, CHORD_MM + OVERSHOOT_MM)
    below, above = floor_z_mm(0) - OVERSHOOT_MM, roof_z_mm(0) + OVERSHOOT_MM
    plate = rectangle(front[0], below, rear[1], above)
    for x, radius_mm in LIGHTENING_HOLES_MM:
        plate -= CrossSection.circle(radius_mm, circle_facets(radius_mm)).translate((x, mid_z_mm(x)))
    plate -= rectangle(front[0], below, front[1], floor_z_mm(0) + NOTCH_HEIGHT_MM)
    plate -= rectangle(front[0], roof_z_mm(0) - NOTCH_HEIGHT_MM, front[1], above)
    plate -= rectangle(rear[0], roof_z_mm(CHORD_MM) - NOTCH_HEIGHT_MM, rear[1], above)
    if aft_mouse_hole:
        plate -= rectangle(rear[0], below, rear[1], floor_z_mm(CHORD_MM) + NOTCH_HEIGHT_MM)
    return along_y(plate, y_mm - RIB_THICKNESS_MM / 2, y_mm + RIB_THICKNESS_MM / 2)


def wing_tank() -> Manifold:
    """The right wing tank. Its outboard rib lacks the aft mouse hole, a mistake that catches fuel with the nose up."""
    sump = rectangle(CHORD_MM - SUMP_LENGTH_MM, -SUMP_DEPTH_MM, CHORD_MM, SUMP_DEPTH_MM)
    baffle_low, above = floor_z_mm(BAFFLE_X_MM) + BAFFLE_FLOOR_GAP_MM, FRONT_DEPTH_MM + OVERSHOOT_MM
    baffle = rectangle(BAFFLE_X_MM, baffle_low, BAFFLE_X_MM + BAFFLE_THICKNESS_MM, above)
    cavity = along_y(wing_section(), 0, SPAN_MM) + along_y(sump, 0, SUMP_WIDTH_MM)
    cavity -= rib(INBOARD_RIB_Y_MM, aft_mouse_hole=True)
    cavity -= rib(OUTBOARD_RIB_Y_MM, aft_mouse_hole=False)
    cavity -= along_y(baffle, *BAFFLE_Y_MM)
    cavity -= post(POST_X_MM, POST_Y_MM, -OVERSHOOT_MM, above, POST_RADIUS_MM)
    rise = math.tan(math.radians(DIHEDRAL_DEG))
    return cavity.transform(np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [0.0, rise, 1.0, 0.0]]))


def neck() -> Manifold:
    """The header's neck: a short tube through the roof under a hemisphere."""
    facets = circle_facets(NECK_RADIUS_MM)
    turns = np.linspace(0.0, math.pi / 2, facets // 4 + 1)[:-1]
    dome = np.column_stack([np.cos(turns), np.sin(turns)]) * NECK_RADIUS_MM + [0.0, NECK_HEIGHT_MM]
    foot, tip = [[0.0, -NECK_RADIUS_MM], [NECK_RADIUS_MM, -NECK_RADIUS_MM]], [[0.0, NECK_HEIGHT_MM + NECK_RADIUS_MM]]
    tube = Manifold.revolve(CrossSection([np.concatenate([foot, dome, tip])]), facets)
    return tube.translate((NECK_X_MM, NECK_Y_MM, ROOF_Z_MM))


def header_tank() -> Manifold:
    """The header: upright edges rounded, a floor falling aft to a bored sump, a neck on the roof at the left front."""
    edge = CrossSection.circle(EDGE_RADIUS_MM, circle_facets(EDGE_RADIUS_MM))
    near, right, rear = EDGE_RADIUS_MM, WIDTH_MM - EDGE_RADIUS_MM, LENGTH_MM - EDGE_RADIUS_MM
    plan = CrossSection.batch_hull([edge.translate((x, y)) for x in (near, rear) for y in (near, right)])
    prism = Manifold.extrude(plan, ROOF_Z_MM - BORE_Z_MM).translate((0.0, 0.0, BORE_Z_MM))
    under = CrossSection(
        [np.array([(-LENGTH_MM, 2 * FLOOR_RISE_MM), (0, -LENGTH_MM), (2 * LENGTH_MM, -FLOOR_RISE_MM)])]
    )
    floor = along_y(under, -OVERSHOOT_MM, WIDTH_MM + OVERSHOOT_MM)
    bore = post(BORE_X_MM, BORE_Y_MM, 2 * BORE_Z_MM, FLOOR_RISE_MM, BORE_RADIUS_MM)
    return prism - (floor - bore) + neck()


def wing_landmarks(side: int = 1) -> dict[str, Point]:
    """Points of a wing tank in its mesh's axes: side +1 is the right tank, −1 the left one."""

    def at(x: float, y: float, above_floor_mm: float | None = None) -> Point:
        z = roof_z_mm(x, y) if above_floor_mm is None else floor_z_mm(x, y) + above_floor_mm
        return x, side * y, z

    rise = math.tan(math.radians(DIHEDRAL_DEG))
    sump_x, sump_y = CHORD_MM - SUMP_LENGTH_MM / 2, SUMP_WIDTH_MM / 2
    hole_x, hole_radius = LIGHTENING_HOLES_MM[-1]
    hole_z = mid_z_mm(hole_x) - hole_radius + OUTBOARD_RIB_Y_MM * rise
    return {
        "sump floor, middle": (sump_x, side * sump_y, sump_y * rise - SUMP_DEPTH_MM),
        "sump floor, inboard rear corner": (CHORD_MM, 0.0, -SUMP_DEPTH_MM),
        "floor, inboard front corner": at(0, 0, 0),
        "floor, inboard rear corner, as without the sump": at(CHORD_MM, 0, 0),
        "floor, outboard front corner": at(0, SPAN_MM, 0),
        "floor, outboard rear corner": at(CHORD_MM, SPAN_MM, 0),
        "roof, inboard front corner": at(0, 0),
        "roof, inboard rear corner": at(CHORD_MM, 0),
        "roof, outboard front corner": at(0, SPAN_MM),
        "roof, outboard rear corner": at(CHORD_MM, SPAN_MM),
        "roof, filler in the outboard bay": at(120, 620),
        "roof, vent in the outboard bay": at(20, 690),
        "roof, switch from above in the inboard bay": at(sump_x - 75, 120),
        "floor, middle of the inboard bay": at(CHORD_MM / 2, INBOARD_RIB_Y_MM / 2, 0),
        "floor, middle of the outboard bay": at(CHORD_MM / 2, (OUTBOARD_RIB_Y_MM + SPAN_MM) / 2, 0),
        "outboard rib, lowest point of the aft lightening hole": (hole_x, side * OUTBOARD_RIB_Y_MM, hole_z),
    }


def header_landmarks() -> dict[str, Point]:
    """Points of the header in its mesh's axes."""
    return {
        "sump floor, middle": (BORE_X_MM, BORE_Y_MM, BORE_Z_MM),
        "floor, rear edge": (LENGTH_MM, WIDTH_MM / 2, 0.0),
        "floor, front edge": (0.0, WIDTH_MM / 2, FLOOR_RISE_MM),
        "roof, middle": (LENGTH_MM / 2, WIDTH_MM / 2, ROOF_Z_MM),
        "neck, top (where the vent belongs)": (NECK_X_MM, NECK_Y_MM, ROOF_Z_MM + NECK_HEIGHT_MM + NECK_RADIUS_MM),
        "roof, right rear (where the vent is wrong)": (LENGTH_MM - 45.0, WIDTH_MM - 40.0, ROOF_Z_MM),
        "front wall, middle": (0.0, WIDTH_MM / 2, (FLOOR_RISE_MM + ROOF_Z_MM) / 2),
        "rear wall, middle": (LENGTH_MM, WIDTH_MM / 2, ROOF_Z_MM / 2),
    }


def checked_corners(body: Manifold, genus: int) -> NDArray[np.float32]:
    """Corners (n, 3, 3) of the surface, rounded to single precision as STL stores them, in a fixed order.

    Raises ValueError unless they still close one body with the expected number of handles.
    """
    mesh = body.to_mesh64()
    rounded = mesh.vert_properties[:, :3].astype(np.float32) + np.float32(0)  # no negative zeros
    vertices, index = np.unique(rounded, axis=0, return_inverse=True)
    faces = index.reshape(-1)[mesh.tri_verts.astype(np.int64)]
    faces = np.array([np.roll(face, -int(face.argmin())) for face in faces])
    faces = faces[np.lexsort(faces.T[::-1])]
    stored = Manifold(Mesh64(vertices.astype(np.float64), faces.astype(np.uint64)))
    found = (stored.status(), len(stored.decompose()), stored.genus(), stored.volume() > 0)
    if found != (Error.NoError, 1, genus, True):
        raise ValueError(f"status, bodies, genus, volume > 0 are {found}; one closed body of genus {genus} was meant")
    corners: NDArray[np.float32] = vertices[faces]
    return corners


def stl_bytes(corners: NDArray[np.float32]) -> bytes:
    """A binary STL file of (n, 3, 3) corners."""
    triangles = corners.astype(np.float64)
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    records = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records["normal"] = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    records["corners"] = corners
    return b"example tank, inside surface, mm".ljust(80) + len(corners).to_bytes(4, "little") + records.tobytes()


def make(out_dir: Path) -> None:
    """Write left.stl, right.stl and header.stl."""
    right = checked_corners(wing_tank(), WING_GENUS)
    left = checked_corners(wing_tank().mirror((0.0, 1.0, 0.0)), WING_GENUS)
    header = checked_corners(header_tank(), 0)
    for name, corners in (("left", left), ("right", right), ("header", header)):
        (out_dir / f"{name}.stl").write_bytes(stl_bytes(corners))


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
