"""A surface while it is being mended, with the list of what was done to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.errors import MeshError
from fuelsys.load.meshes.mesh import LISTED
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.found.mesh import Change


@dataclass
class Bench:
    """A surface while it is mended: vertices are never removed, so that their numbers stay; unsure marks those of pieces
    that were wound both ways, whose sense says nothing."""

    given: Surface
    vertices: Floats
    faces: Ints
    unsure: Flags
    scale: float
    changes: list[Change]

    def note(self, what: str, places: Floats, within: float = 0.0, count: int | None = None) -> None:
        """List a change; places (k, 3) and the volume in the file's unit. Nothing is listed where there are no places."""
        if len(places):
            number = len(places) if count is None else count
            self.changes.append(Change(what, number, places[:LISTED] * self.scale, within * self.scale**3))

    def middles(self, faces: Ints) -> Floats:
        """Middles of faces (k, 3) -> (k, 3)."""
        return np.asarray(self.vertices[faces].mean(axis=1))

    def refuse(self, found: str, mend: str, place: Floats | None = None, point: str = "the first") -> MeshError:
        """What cannot be mended, with its place, and which point of it that is."""
        where = ""
        if place is not None:
            x, y, z = place
            where = f", {point} near ({x:.6g}, {y:.6g}, {z:.6g}) {self.given.unit}"
        return MeshError(f"{found}{where}", mend=mend, file=self.given.file)
