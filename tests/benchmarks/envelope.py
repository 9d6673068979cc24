"""Times unusable fuel with pools, three outlets and three switches over 25 x 25 attitudes, and the first run of an installation.

Run: python tests/benchmarks/envelope.py [TRIANGLES] [--cold]     --cold compiles anew, into a folder that is then removed.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from math import radians

SIDE = 25


def run(triangles: int, workers: int) -> tuple[float, float, int]:
    """Seconds for the sweep, a sum that tells whether two runs agree, and the number of faces."""
    import bodies
    import numpy as np

    from fuelsys.analysis.tank.draining import Drained, Opening
    from fuelsys.model.built.cavity import Cavity
    from fuelsys.model.stated.attitude import Attitude

    cavity = Cavity.of(*bodies.baffled_tank(triangles))
    outlets = [
        Opening(cavity.spot("outlet", np.array(at))) for at in ([0.1, 0.1, 0.005], [0.3, 0.1, 0.005], [0.5, 0.7, 0.01])
    ]
    marks = [cavity.spot("mark", np.array([0.3, y, z])) for y, z in ((0.4, 0.03), (0.3, 0.05), (0.4, 0.08))]

    def row(pitch: float) -> float:
        total = 0.0
        for roll in np.linspace(-12.0, 12.0, SIDE):
            drained = Drained.of(cavity, Attitude("", "flight", radians(pitch), radians(roll)).up, outlets, marks)
            total += drained.left_m3 + sum(
                drained.passed(mark, state=state) or 0.0 for mark in range(3) for state in (0, 1)
            )
        return total

    start = time.perf_counter()
    with ThreadPoolExecutor(workers) as executor:
        total = sum(executor.map(row, np.linspace(-15.0, 20.0, SIDE)))
    return time.perf_counter() - start, total, len(cavity.faces)


def main() -> None:
    """Print the times and the peak memory."""
    numbers = [int(text) for text in sys.argv[1:] if text.isdigit()]
    triangles = numbers[0] if numbers else 50_000
    if "--cold" in sys.argv:
        with tempfile.TemporaryDirectory() as cache:
            start = time.perf_counter()
            subprocess.run(
                [sys.executable, __file__, str(triangles)], env={**os.environ, "NUMBA_CACHE_DIR": cache}, check=True
            )
            print(f"the whole of that, compiling included: {time.perf_counter() - start:.1f} s")
        return
    for workers in (1, 2):
        seconds, total, faces = run(triangles, workers)
        print(f"{faces} triangles, {SIDE} x {SIDE} attitudes, {workers} thread(s): {seconds:.2f} s, sum {total!r}")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
