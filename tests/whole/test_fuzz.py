"""Spoilt files at the doors: what an hour of it found once, and a few seconds of new ones. See fuzz_doors.py."""

from __future__ import annotations

from pathlib import Path

import meshfiles as made
import pytest
from fuzz_doors import enter, faults, spoilt

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity


@pytest.mark.parametrize("name", [b"ver\x9dex", b"v\x13rtex", b"\x7f\xff\xff\xffex"])
def test_found_once_a_ply_whose_element_has_a_name_that_cannot_be_printed(tmp_path: Path, name: bytes) -> None:
    data = made.ply_text(made.BOX_MM, made.TRIANGLES).replace(b"element vertex", b"element " + name)
    assert enter(".ply", data, tmp_path) == ""
    with pytest.raises(MeshError, match=r"tank.ply: line 4 reads .*, which the format does not know"):
        load_cavity(tmp_path / "tank.ply", "mm")


def test_some_seconds_of_spoilt_files() -> None:
    count, told = faults(iter(range(1, 1 << 62)), 5.0)
    assert told == []
    assert count > 20


def test_a_seed_always_gives_the_same_file() -> None:
    sound = {".off": [made.off(made.BOX_MM, made.TRIANGLES)]}
    assert spoilt(7, sound) == spoilt(7, sound)
    assert len({spoilt(seed, sound)[1] for seed in range(50)}) > 25
