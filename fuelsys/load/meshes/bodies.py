"""The pieces of a surface: which are closed, what they enclose, which lies in which, and whether they look like a tank's wall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import edges, points, surface
from fuelsys.kernels.edges import Indices
from fuelsys.load import bounds
from fuelsys.model.found.mesh import NoHollow, Shell, Wall

MOST_LISTED = 20
# A closed shell in a cavity is a hollow (a float's can, a post). One that fills more of the outer shell than this is taken
# for the inside of a wall. Common practice, no source.
FILLS_MOST = 0.5
# A body whose mean thickness (volume over half its area) is less than both, a length and a share of its smallest extent, is
# taken for sheet. Common practice, no source: tanks are made of up to 3 mm of metal or composite, and no tank is 5 mm
# deep. A plain box has a share of a third or more. Sandwich walls thicker than 5 mm go unseen unless they are two shells.
_THIN_M, _THIN_SHARE = 5e-3, 0.2
_NO_VOLUME = 1e-9  # share of the box's longest side, cubed: the mesh door's


def sheet(volume_m3: float, area_m2: float, smallest_m: float) -> Wall | None:
    """What a body looks like whose mean thickness is next to nothing: a wall with an opening, which is one shell."""
    thickness_m = volume_m3 / max(area_m2 / 2.0, 1e-300)
    return Wall(thickness_m, None, None) if 0.0 < thickness_m < min(_THIN_M, _THIN_SHARE * smallest_m) else None


@dataclass(frozen=True)
class Bodies:
    """The shells of a surface (n,), largest area first: each face's shell, and what is known of each shell."""

    vertices_m: Floats
    faces: Ints
    label: Indices  # (m,)
    triangles: Indices
    open_edges: Indices
    sound_shell: Flags  # closed, and wound in one sense
    areas_m2: Floats
    volumes_m3: Floats  # meaningful where sound
    handles: Indices  # the same
    low_m: Floats
    high_m: Floats

    @property
    def number(self) -> int:
        """How many shells there are."""
        return len(self.areas_m2)

    @property
    def sound(self) -> bool:
        """Is every shell closed, and wound in one sense?"""
        return bool(self.number and self.sound_shell.all())

    @property
    def volume_m3(self) -> float | None:
        """What one sound body encloses, whichever way round it faces: the outer shell less its hollows."""
        one = self.sound and self.within is not None and not self.apart and not self.no_hollows
        return abs(float(self.volumes_m3.sum())) if one else None

    @property
    def flat(self) -> Flags:
        """Sound shells that enclose nothing."""
        return self.sound_shell & (np.abs(self.volumes_m3) <= _NO_VOLUME * (self.high_m - self.low_m).max(axis=1) ** 3)

    @property
    def outer(self) -> int:
        """The sound shell that encloses most."""
        return int(np.argmax(np.where(self.sound_shell, np.abs(self.volumes_m3), -1.0)))

    @cached_property
    def within(self) -> dict[int, tuple[int, ...]] | None:
        """For each sound shell the others that it lies inside; None where there are too many to look at."""
        sound = np.flatnonzero(self.sound_shell & ~self.flat).tolist()
        if len(sound) > bounds.MOST_NESTED:
            return None
        return {k: tuple(j for j in sound if j != k and self._lies_in(k, j)) for k in sound}

    def _lies_in(self, k: int, j: int) -> bool:
        if (self.low_m[k] < self.low_m[j]).any() or (self.high_m[k] > self.high_m[j]).any():
            return False
        point = self.vertices_m[self.faces[np.argmax(self.label == k), 0]]
        return bool(abs(points.winding(point, self.vertices_m, self.part(j))) > 0.5)

    def part(self, k: int) -> Ints:
        """The faces of a shell."""
        return np.ascontiguousarray(self.faces[self.label == k])

    @property
    def apart(self) -> list[int]:
        """Sound shells outside the outer one."""
        return [k for k, around in (self.within or {}).items() if k != self.outer and self.outer not in around]

    @property
    def no_hollows(self) -> list[int]:
        """Sound shells inside the outer one that are no hollows of it: they face as it does, or lie in another hollow."""
        within = self.within or {}
        sense = np.sign(self.volumes_m3[self.outer]) if within else 0.0
        inside = [k for k, around in within.items() if self.outer in around]
        return [k for k in inside if len(within[k]) > 1 or np.sign(self.volumes_m3[k]) == sense]

    @cached_property
    def wall(self) -> Wall | None:
        """Signs of a wall: an inner shell that fills most of the outer one, or next to no thickness."""
        if not self.sound:
            return None
        volumes, outer = np.abs(self.volumes_m3), self.outer
        inside = [k for k, around in (self.within or {}).items() if around == (outer,)]
        inner = max(inside, key=lambda k: float(volumes[k]), default=outer)
        if inner != outer and volumes[inner] > FILLS_MOST * volumes[outer]:
            half_area = (self.areas_m2[outer] + self.areas_m2[inner]) / 2.0
            return Wall(float((volumes[outer] - volumes[inner]) / half_area), inner, float(volumes[inner]))
        held = sorted((float(volumes[k]) for k in inside), reverse=True)
        if sum(held) > FILLS_MOST * volumes[outer]:
            half_area = float(self.areas_m2[[outer, *inside]].sum()) / 2.0
            return Wall(float(volumes[outer] - sum(held)) / half_area, None, None, tuple(held))
        size = float((self.high_m.max(axis=0) - self.low_m.min(axis=0)).min())
        return sheet(self.volume_m3 or 0.0, float(self.areas_m2.sum()), size)

    def why_not(self) -> Iterator[str]:
        """What keeps sound shells from being one cavity."""
        flat = int(self.flat.sum())
        if flat:
            yield f"{flat} closed surface{'s enclose' if flat > 1 else ' encloses'} no volume"
        if self.wall:
            yield self.wall.text
        if self.within is None:
            yield f"not checked: which of its more than {bounds.MOST_NESTED} closed surfaces lies in which"
            return
        if self.apart and self.sound:
            yield f"there are {len(self.apart) + 1} separate bodies in it"
        odd = len(self.no_hollows)
        if odd and self.sound and not (self.wall and odd == 1):
            shells = f"shell{'s' if odd > 1 else ''} {', '.join(str(k + 1) for k in self.no_hollows)}"
            many = ("s", "are") if odd > 1 else ("", "is")
            yield NoHollow(f"{odd} closed surface{many[0]} inside it {many[1]} no hollow in it ({shells})")

    def largest(self) -> tuple[Shell, ...]:
        """The first shells as records."""
        return tuple(self._record(k) for k in range(min(self.number, MOST_LISTED)))

    def _record(self, k: int) -> Shell:
        sound = bool(self.sound_shell[k])
        return Shell(
            triangles=int(self.triangles[k]),
            open_edges=int(self.open_edges[k]),
            area_m2=float(self.areas_m2[k]),
            volume_m3=float(self.volumes_m3[k]) if sound else None,
            handles=int(self.handles[k]) if sound else None,
            low_m=self.low_m[k],
            high_m=self.high_m[k],
            within=None if self.within is None else self.within.get(k, ()),
        )


def bodies(vertices_m: Floats, faces: Ints, along: edges.Edges) -> Bodies:
    """The shells of a surface whose edges are known."""
    n, label = edges.shells_of(faces, along)
    face_areas = surface.vector_areas(vertices_m, faces)
    areas = _sums(label, np.linalg.norm(face_areas, axis=1), n)
    order = np.argsort(-areas, kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(n)
    label = rank[label]
    of_edge = label[along.half[along.first] // 3]
    odd = np.bincount(of_edge, (along.many != 2) | (along.turn != 0), n) > 0
    number_of_fans, fan = edges.fans(faces, along)
    fan_shell = np.empty(number_of_fans, dtype=np.int64)
    fan_shell[fan] = np.repeat(label, 3)
    triangles = np.bincount(label, minlength=n)
    euler = np.bincount(fan_shell, minlength=n) - np.bincount(of_edge, minlength=n) + triangles
    low, high = _boxes(vertices_m[faces], label, n)
    middles = vertices_m[faces].mean(axis=1) - (low + high)[label] / 2.0
    return Bodies(
        vertices_m=vertices_m,
        faces=faces,
        label=label,
        triangles=triangles,
        open_edges=np.bincount(of_edge, along.many == 1, n).astype(np.int64),
        sound_shell=~odd,
        areas_m2=areas[order],
        volumes_m3=_sums(label, np.einsum("ij,ij->i", middles, face_areas) / 3.0, n),
        handles=1 - euler // 2,
        low_m=low,
        high_m=high,
    )


def _sums(label: Indices, values: Floats, n: int) -> Floats:
    """Sum of the values of each of n labels."""
    return np.asarray(np.bincount(label, values, n), dtype=np.float64)


def _boxes(corners: Floats, label: Indices, n: int) -> tuple[Floats, Floats]:
    """Least and greatest corner of each of n shells (n, 3)."""
    if not n:
        return np.zeros((0, 3)), np.zeros((0, 3))
    order = np.argsort(label, kind="stable")
    begin = np.searchsorted(label[order], np.arange(n))
    low = np.minimum.reduceat(corners.min(axis=1)[order], begin)
    high = np.maximum.reduceat(corners.max(axis=1)[order], begin)
    return low, high
