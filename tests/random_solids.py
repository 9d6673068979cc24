"""Random closed bodies, each one cavity: level floors and roofs, pockets, plates, posts and cans that hang free."""

import numpy as np
from manifold3d import Error, Manifold, OpType
from solids import Solid, fault, from_manifold, signed_volume, to_manifold

SMALLEST_VOLUME = 1.0  # a body's size is about 10


def random_body(seed: int) -> Solid:
    """A random body that is not convex, the same for the same seed; one in four is turned and has no level faces."""
    rng = np.random.default_rng(seed)
    while True:
        rooms = [_room(rng) for _ in range(rng.integers(1, 4))]
        pockets = [_pocket(rng) for _ in range(rng.integers(0, 3))]
        internals = [_internal(rng) for _ in range(rng.integers(1, 7))]
        body = _union(rooms + pockets) - _union(internals)
        solid = _single(body) if rng.random() < 0.75 else _single(body.rotate(tuple(rng.uniform(-180, 180, 3))))
        if solid is not None:
            return solid


def _union(pieces: list[Manifold]) -> Manifold:
    return Manifold.batch_boolean(pieces, OpType.Add)


def _number(rng: np.random.Generator, low: float, high: float) -> float:
    """Half of all measures are multiples of a quarter, so that floors and walls of different pieces coincide."""
    value = float(rng.uniform(low, high))
    return max(round(4 * value), 1) / 4 if rng.random() < 0.5 and low > 0 else value


def _place(rng: np.random.Generator, low: float, high: float) -> tuple[float, float]:
    """A place in plan; half of all coordinates are multiples of a half."""
    x, y = (float(v) if rng.random() < 0.5 else round(2 * v) / 2 for v in rng.uniform(low, high, 2))
    return x, y


def _piece(rng: np.random.Generator, length: float, width: float, height: float) -> Manifold:
    """A box, a standing or lying cylinder, a cone or a ball of about this size, its lowest point at z = 0."""
    facets = int(rng.integers(3, 17))
    match rng.choice(["box", "box", "box", "standing", "lying", "cone", "ball"]):
        case "box":
            return Manifold.cube((length, width, height)).translate((-length / 2, -width / 2, 0.0))
        case "standing":
            return Manifold.cylinder(height, length / 2, circular_segments=facets)
        case "lying":
            lying = Manifold.cylinder(length, height / 2, circular_segments=facets, center=True)
            return lying.rotate((0.0, 90.0, 0.0)).translate((0.0, 0.0, height / 2))
        case "cone":
            return Manifold.cylinder(height, length / 2, width / 8, circular_segments=facets)
        case _:
            ball = Manifold.sphere(0.5, int(rng.integers(2, 5)) * 4)
            return ball.scale((length, width, height)).translate((0.0, 0.0, height / 2))


def _room(rng: np.random.Generator) -> Manifold:
    """A large piece whose bottom lies on z = 0 or a little above."""
    size = [_number(rng, 5, 10) for _ in range(3)]
    lift = _number(rng, 0.25, 3) if rng.random() < 0.5 else 0.0
    return _piece(rng, *size).translate((*_place(rng, -3, 3), lift))


def _pocket(rng: np.random.Generator) -> Manifold:
    """A recess below the floor or a dome above the roof."""
    z = -_number(rng, 0.5, 2) if rng.random() < 0.7 else _number(rng, 4, 9)
    return _piece(rng, *[_number(rng, 1, 3) for _ in range(3)]).translate((*_place(rng, -3, 3), z))


def _internal(rng: np.random.Generator) -> Manifold:
    """What takes its room out of the cavity: a plate that stands, hangs or spans, a post, a can, a turned piece."""
    x, y = _place(rng, -3, 3)
    gap = _number(rng, 0.25, 4)
    match rng.choice(["stands", "hangs", "spans", "post", "floats", "turned"]):
        case "stands":
            return _plate(rng, gap + 2).translate((x, y, -2.0))
        case "hangs":
            return _plate(rng, 12.0).translate((x, y, gap))
        case "spans":
            hole = Manifold.cylinder(40.0, _number(rng, 0.25, 1), circular_segments=8, center=True).rotate(
                (90.0, 0.0, 0.0)
            )
            notch = _piece(rng, 1.0, 20.0, 1.0).translate((1.0, 0.0, -gap))
            plate = _plate(rng, 16.0).translate((0.0, 0.0, -2.0))
            return (plate - hole.translate((0.0, 0.0, gap)) - notch).translate((x, y, 0.0))
        case "post":
            post = Manifold.cylinder(20.0, _number(rng, 0.25, 1), circular_segments=int(rng.integers(3, 13)))
            return post.translate((x, y, -3.0))
        case "floats":
            return _piece(rng, *[_number(rng, 0.5, 2.5) for _ in range(3)]).translate((x, y, gap))
        case _:
            turned = _piece(rng, *[_number(rng, 0.5, 4) for _ in range(3)])
            return turned.rotate(tuple(rng.uniform(-180, 180, 3))).translate((x, y, gap))


def _plate(rng: np.random.Generator, height: float) -> Manifold:
    """An upright plate across x or y, sometimes longer than any room."""
    length, width = _number(rng, 2, 16), _number(rng, 0.1, 0.5)
    plate = Manifold.cube((length, width, height)).translate((-length / 2, -width / 2, 0.0))
    return plate if rng.random() < 0.5 else plate.rotate((0.0, 0.0, 90.0))


def _single(body: Manifold) -> Solid | None:
    """The largest cavity with the cans that hang free in it; None if it is small, convex or touches itself."""
    if body.status() != Error.NoError or body.volume() < SMALLEST_VOLUME:
        return None
    shells = [from_manifold(shell) for shell in body.decompose()]
    outer = [to_manifold(v, f) for v, f in shells if signed_volume(v, f) > 0]
    cans = [to_manifold(v, f[:, ::-1].copy()) for v, f in shells if signed_volume(v, f) < 0]
    room = max(outer, key=Manifold.volume)
    others = [shell for shell in outer if shell is not room]
    inside = [can for can in cans if _holds(room, can) and not any(_holds(other, can) for other in others)]
    cavity = room - _union(inside) if inside else room
    solid = from_manifold(cavity)
    accepted = SMALLEST_VOLUME <= cavity.volume() < 0.999 * cavity.hull().volume() and not fault(*solid)
    return solid if accepted else None


def _holds(room: Manifold, can: Manifold) -> bool:
    return bool((room ^ can).volume() > can.volume() / 2)
