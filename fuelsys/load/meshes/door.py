"""The mesh door: a file becomes one closed, outward cavity in body axes, or one line says what is wrong and where."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.errors import BodiesError, FuelsysError, MeshError
from fuelsys.kernels import surface
from fuelsys.load import axes
from fuelsys.load.formats import files
from fuelsys.load.formats.raw import WHOLE, Choice, Raw, counted
from fuelsys.load.meshes.soundness import Surface, sound
from fuelsys.load.meshes.weld import weld
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.words import Doubt

# A cavity outside these is more likely a wrong unit than a tank. Common practice, no source.
LEAST_PLAUSIBLE_M3, MOST_PLAUSIBLE_M3 = 0.2e-3, 2.0
# Numbers whose raster is more than this share of a body are too coarse for it: some 1e-4 of a tank's volume. A header of
# 0.1 m that is drawn 3 m from the origin is at 2.4e-6.
_COARSE = 1e-5


def unit_of(raw: Raw, kind: str, stated: str | None, file: str) -> str:
    """The unit that the file says or the person states; MeshError where neither does or they differ."""
    stated = None if stated is None else units.named(stated)
    if stated is not None and stated not in units.UNITS["length"]:
        found, mend = f"found the unit {units.shown(stated)}", f"Use one of {', '.join(units.UNITS['length'])}."
    elif raw.unit is None and stated is None and raw.unit_said:
        said = raw.unit_said
        found, mend = (
            f"{kind} files do not say their unit; its comment says {said}",
            f"Give --unit {said}, if that is right.",
        )
    elif raw.unit is None and stated is None:
        found, mend = f"{kind} files do not say their unit", "State it, as the CAD export was set: mm, cm, m, in or ft."
    elif stated is not None and stated != raw.unit and kind in files.UNIT_WITHIN:
        found = f"the unit was stated as {stated}, but this {kind} file is in {raw.unit}"
        mend = f"Write {raw.unit}, or look again which file this is."
    else:
        return stated or raw.unit or ""
    raise MeshError(found, mend=mend, file=file, field="unit")


def chosen(path: Path, unit: str | None, choice: Choice) -> tuple[Raw, str]:
    """What a file holds, or the one body of it that was picked, and its unit."""
    raw, file, kind = files.read(path, choice), files.label(path.name), files.format_of(path)
    unit = unit_of(raw, kind, unit, file)
    if raw.unit not in (None, unit):
        note = Doubt(f"{kind} is in {raw.unit} by its standard; taken as {unit} because that was stated")
        raw = replace(raw, notes=(*raw.notes, note))
    if choice.body and kind not in files.TRUE_SOLIDS:
        from fuelsys.load.meshes.picking import listing  # noqa: PLC0415  for files of several bodies

        raw = listing(raw, unit).picked(choice.body, file)
    return replace(raw, notes=(*raw.notes, *_coarse(raw, unit))), unit


def _coarse(raw: Raw, unit: str) -> tuple[str, ...]:
    """A warning where the file's numbers are too coarse for a body so far from the origin."""
    corners = raw.vertices[raw.faces]
    size = float(np.ptp(corners.reshape(-1, 3), axis=0).max()) if len(corners) else 0.0
    if raw.raster <= _COARSE * size or not size:
        return ()
    scale = units.scale(unit)
    area_m2 = (
        float(np.linalg.norm(surface.vector_areas(raw.vertices, raw.faces.astype(np.int32)), axis=1).sum()) * scale**2
    )
    within_m3 = area_m2 * raw.raster * scale
    within = f"{units.plain(within_m3 * 1e6, 2)} mL" if within_m3 < 1e-3 else f"{units.plain(within_m3 * 1e3, 2)} L"
    return (
        Doubt(
            f"so far from the origin the file's single-precision numbers are {raw.raster:.2g} {unit} apart: its volume is"
            f" known within {within} only. Move the body to the origin in CAD and export again."
        ),
    )


def _read(path: Path, unit: str | None, choice: Choice) -> Surface:
    """A file's faces as one welded surface; MeshError where there are none."""
    (raw, unit), file = chosen(path, unit, choice), files.label(path.name)
    if not len(raw.faces):
        raise MeshError(
            f"there are no faces in it, only {counted(len(raw.vertices), 'point')}"
            if len(raw.vertices)
            else "there are no faces in it",
            mend="Export the tank's inside as a surface or solid, not as lines.",
            file=file,
        )
    vertices, faces, dropped = weld(raw.vertices, raw.faces)
    if not len(faces):
        raise MeshError("none of its faces has an area", mend="Export the tank's inside as a solid.", file=file)
    notes = raw.notes
    if choice.mirror is not None:
        vertices[:, choice.mirror] *= -1.0
        faces = np.ascontiguousarray(faces[:, ::-1])
    if dropped:
        what = counted(dropped, "face with two equal corners was", "faces with two equal corners were")
        notes = (*notes, f"{what} left out: no area, no volume")
    return Surface(file, unit, vertices, faces, notes, None if choice.body else raw)


def odd_volume(volume_m3: float, unit: str, file: str) -> tuple[str, ...]:
    """A question, where a cavity's volume is no light aircraft's tank's; file's ending says whether its unit can be stated."""
    if LEAST_PLAUSIBLE_M3 <= volume_m3 <= MOST_PLAUSIBLE_M3:
        return ()
    held = f"{volume_m3 * 1e3:,.0f} L" if volume_m3 > MOST_PLAUSIBLE_M3 else f"{volume_m3 * 1e6:.3g} mL"
    kind = files.READERS.get(Path(file).suffix.lower(), ("", ""))[0]
    asked = (
        f"is the unit {unit}, which this {kind} file states, right? Export it again in the right one if not."
        if kind in files.UNIT_WITHIN
        else f"is the unit {unit} right? State another if not."
    )
    return (Doubt(f"a cavity of {held} is unusual for a light aircraft's tank: {asked}"),)


def read_surface(path: Path, unit: str | None, choice: Choice = WHOLE, *, part: bool = False) -> Surface:
    """A mesh file as one closed, outward surface in its own unit and axes; MeshError if it holds none.

    part: it is not a tank's inside but a part in a tank, which may be thin.
    """
    given = _read(path, unit, choice)
    try:
        return sound(given, part=part)
    except MeshError as fault:
        raise _told_apart(given, fault) from fault


def _told_apart(given: Surface, fault: MeshError) -> MeshError:
    """A fault between bodies that the file tells apart by name is none: one can be picked. Others stay what they are."""
    if isinstance(fault, BodiesError) or given.raw is None or len(given.raw.names) < 2:
        return fault
    from fuelsys.load.meshes.picking import listing  # noqa: PLC0415  as above

    found = listing(given.raw, given.unit)
    if len(found.bodies) < 2 or all(body.volume_m3 is None for body in found.bodies):
        return fault
    sound = max(found.bodies, key=lambda body: body.size_m).volume_m3 is not None
    if sound and sum(not body.inside for body in found.bodies) > 1:
        return found.several(given.file)
    mend = f"{fault.mend} Or pick one of its {len(found.bodies)} bodies; `fuelsys mesh FILE` lists them."
    return MeshError(fault.found, mend=mend, file=given.file)


def load_cavity(
    path: Path,
    unit: str | None,
    axes_text: str = "aft, right, up",
    origin_m: Floats | None = None,
    name: str | None = None,
    choice: Choice = WHOLE,
) -> Cavity:
    """A mesh file as a cavity in body axes, origin_m (3,) being where the mesh's own origin lies; MeshError if it is none."""
    try:
        turn = axes.rotation(axes_text)
    except FuelsysError as fault:
        raise MeshError(fault.found, mend=fault.mend, file=files.label(path.name), field="axes") from fault
    given = read_surface(path, unit, choice)
    vertices_m = given.vertices * units.scale(given.unit) @ turn + (0.0 if origin_m is None else origin_m)
    name = name or files.label(path.stem)
    cavity = Cavity.of(vertices_m, given.faces, name, given.notes)
    return replace(cavity, notes=(*given.notes, *odd_volume(cavity.gross_m3, given.unit, given.file)))
