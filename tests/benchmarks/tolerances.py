"""Times a tolerance study of the example's header: 10,000 samples over 25 flight attitudes and three switches.

Run: python tests/benchmarks/tolerances.py [SAMPLES]
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from itertools import product
from math import radians
from pathlib import Path

import fuelsys_meshes
from fuelsys.analysis.sweeping.sweeps import threads
from fuelsys.analysis.sweeping.tolerance import tolerance_study
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.design import AttitudeEntry


def layout_of() -> Layout:
    """The example with 25 flight attitudes, pitch -6 to 14 and roll -8 to 8 degrees."""
    layout = load_design(Path(fuelsys_meshes.__file__ or "").parent / "taildragger.toml")
    ground = tuple(entry for entry in layout.design.attitude if entry.phase == "ground")
    grid = tuple(
        AttitudeEntry(name=f"{p} {r}", phase="flight", pitch=f"{p} deg", roll=f"{r} deg", normal=p == 4 and r == 0)  # type: ignore[call-arg]
        for p, r in product(range(-6, 15, 5), range(-8, 9, 4))
    )
    return replace(layout, design=layout.design.model_copy(update={"attitude": ground + grid}))


def main() -> None:
    """Print the times, in full for a hundred samples and at once for all."""
    samples = int(sys.argv[1]) if sys.argv[1:] else 10_000
    layout = layout_of()
    header = layout.tank("header")
    for mounted_rad, workers in product((0.0, radians(0.5)), (1, 2)):
        bounds = Tolerances(0.002, mounted_rad, 0.05, 0.01)
        with threads(workers) as executor:
            tolerance_study(layout, header, bounds, 10, executor=executor)  # compiled, and loaded
            start, spent = time.perf_counter(), time.process_time()
            found = tolerance_study(layout, header, bounds, samples, executor=executor)
            seconds, of_processor = time.perf_counter() - start, time.process_time() - spent
        tilted = f"mounted ±0.5 deg, {found.grid} x {found.grid} tilts" if mounted_rad else "not tilted"
        print(
            f"{samples} samples, 25 attitudes, 3 switches, {tilted}, {workers} thread(s): {seconds:.1f} s, processor {of_processor:.1f} s"
        )


if __name__ == "__main__":
    main()
