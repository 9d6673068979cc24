"""What comes before a command loads the rooms that compute: files and tanks that are not there, and a first run's compiling."""

from __future__ import annotations

import os
from pathlib import Path

import click


def on_design(file: Path, tank: str | None = None) -> None:
    """DesignError or QuestionError where there is no such file, or no tank of the name in it; then the kernels are seen to."""
    if tank is not None or not os.path.exists(file):
        from fuelsys.load.designs.stated import check_named, read_design

        design, _, name = read_design(file)
        check_named([one.name for one in design.tank], tank, name)
    compile_first()


def on_meshes(*files: Path) -> None:
    """MeshError where one of the files is not there; then the kernels are seen to."""
    for file in files:
        if not os.path.exists(file):
            from fuelsys.load.formats.files import read

            read(file)
    compile_first()


def compile_first() -> None:
    """On a first run compile the kernels, with a word about the wait; and say where they are kept, if not beside their source."""
    from fuelsys.kernels import compiled

    if not compiled.never_compiled():
        return
    if compiled.KEPT_IN is None:
        click.echo("nothing can be kept here: the kernels are compiled in every run; this can take a minute", err=True)
        return
    kept = "" if compiled.BESIDE else f", and kept in {compiled.KEPT_IN}"
    wait = f"first run on this installation: the kernels are compiled, once{kept}; this can take a minute"
    click.echo(wait, err=True)
    from fuelsys.analysis.sweeping.first import compile_all

    compile_all()
