"""The files that a design rests on, with their digests, so that what is made of them says what it was made of."""

from __future__ import annotations

import hashlib
from pathlib import Path, PurePosixPath

from fuelsys.errors import FuelsysError, OutputError
from fuelsys.load import bounds
from fuelsys.load.designs.stated import read_design
from fuelsys.load.formats import files
from fuelsys.model.built.layout import Input, Layout
from fuelsys.model.stated.design import Design


def named(path: Path, design: Design) -> list[str]:
    """A design file, then the meshes and the fill tests' sheets that it names, each once, by their names from its folder."""
    listed = [name for tank in design.tank for name in (tank.mesh, *(body.mesh for body in tank.inside))]
    listed += [tank.measured.sheet for tank in design.tank if tank.measured]
    return [path.name, *dict.fromkeys(listed)]


def digests(path: Path, design: Design) -> tuple[Input, ...]:
    """Each of those files with its SHA-256; those that cannot be read are left out: whoever reads them says why."""
    return tuple(one for name in named(path, design) for one in _one(path.parent / name, name))


def _one(path: Path, name: str) -> tuple[Input, ...]:
    try:
        return (Input(name, hashlib.sha256(_bytes(path)).hexdigest()),)
    except FuelsysError:
        return ()


def behind(path: Path) -> tuple[Input, ...]:
    """The files behind what a command was asked of: a design's, or the one file itself; none where it cannot be read."""
    if path.suffix.lower() != ".toml":
        return _one(path, path.name)
    try:
        design, _, _ = read_design(path)
    except FuelsysError:
        return ()
    return digests(path, design)


def to_keep(path: Path, layout: Layout) -> tuple[dict[str, bytes], list[str]]:
    """The bytes of a layout's files by their names, and the names of those that lie outside the design's folder, which are not kept.

    OutputError where one has changed since the layout was made of it.
    """
    kept, outside = {}, []
    for one in layout.inputs:
        data = _bytes(path.parent / one.file)
        if hashlib.sha256(data).hexdigest() != one.sha256:
            raise OutputError(
                "the file changed while the answer was computed", mend="Ask again.", file=files.label(one.file)
            )
        if inside(one.file):
            kept[str(PurePosixPath(one.file))] = data
        else:
            outside.append(one.file)
    return kept, outside


def inside(name: str) -> bool:
    """Is a name one below the design's folder?

    >>> inside("meshes/left.stl"), inside("../left.stl"), inside("/tmp/left.stl")
    (True, False, False)
    """
    return not Path(name).is_absolute() and ".." not in PurePosixPath(name).parts and "\\" not in name


def _bytes(path: Path) -> bytes:
    return files.contents(path, files.GIVE, max(bounds.MOST_MESH_BYTES, bounds.MOST_DESIGN_BYTES))
