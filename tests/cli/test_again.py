"""A review says what it was made of, keeps it, and can be made again from its own folder."""

from __future__ import annotations

import hashlib
import json
import os
import re
from pathlib import Path

import pytest
from commands import run
from designs import layout_of

from fuelsys.errors import OutputError
from fuelsys.load.designs import inputs
from fuelsys.load.designs.door import load_design


def test_a_review_made_again_is_the_same_and_what_was_changed_is_named(tmp_path: Path) -> None:
    layout_of(tmp_path)
    ran = run("review", "bench.toml", "--into", "r", "--no-explorer", "--no-failures", folder=tmp_path)
    assert ran.returncode == 0, ran.stderr
    told = json.loads((tmp_path / "r/study.json").read_text(encoding="utf-8"))
    assert told["inputs"]
    for one in told["inputs"]:  # the digests are those of the files, and the files are kept
        data = (tmp_path / one["file"]).read_bytes()
        assert one["sha256"] == hashlib.sha256(data).hexdigest()
        assert (tmp_path / "r/design" / one["file"]).read_bytes() == data
        assert one["sha256"][:12] in (tmp_path / "r/index.html").read_text(encoding="utf-8")
    (tmp_path / "r/tables/capacity.csv").write_text("nothing")
    ran = run("review", "r", folder=tmp_path)
    assert ran.returncode == 1
    files = len((tmp_path / "r/files.sha256").read_text(encoding="utf-8").splitlines())
    assert ran.stdout == f"changed since it was written: tables/capacity.csv\nr: not the same, 1 of {files} files\n"


@pytest.mark.parametrize("told", [None, "{", "[]", '{"inputs": []}', '{"inputs": [{"file": "../x.toml"}]}'])
def test_a_folder_that_is_no_review_is_refused(tmp_path: Path, told: str | None) -> None:
    (tmp_path / "r").mkdir()
    if told is not None:
        (tmp_path / "r/study.json").write_text(told)
    ran = run("review", "r", folder=tmp_path)
    assert ran.returncode == 2
    assert ran.stderr.count("\n") == 1
    assert "Traceback" not in ran.stderr


def test_files_elsewhere_are_named_and_not_kept(tmp_path: Path) -> None:
    below = tmp_path / "below"
    below.mkdir()
    layout_of(tmp_path)
    text = (tmp_path / "bench.toml").read_text(encoding="utf-8")
    (below / "bench.toml").write_text(re.sub(r'"(\w+\.off)"', r'"../\1"', text), encoding="utf-8")

    kept, outside = inputs.to_keep(below / "bench.toml", load_design(below / "bench.toml"))
    assert list(kept) == ["bench.toml"]
    assert outside
    assert all(name.startswith("../") for name in outside)


def test_a_file_that_changed_meanwhile_is_no_part_of_an_answer(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    mesh = tmp_path / layout.inputs[1].file
    was = os.stat(mesh)
    data = bytearray(mesh.read_bytes())
    data[-1] ^= 1
    mesh.write_bytes(data)
    os.utime(mesh, ns=(was.st_atime_ns, was.st_mtime_ns))
    with pytest.raises(OutputError, match="changed while"):
        inputs.to_keep(tmp_path / "bench.toml", layout)


def test_the_digest_on_a_sheet_follows_every_file(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    assert layout.inputs[0].file == "bench.toml"
    assert len(layout.inputs) > 1
    text = (tmp_path / "bench.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(text + "# a word\n", encoding="utf-8")

    assert load_design(tmp_path / "bench.toml").made_of != layout.made_of
