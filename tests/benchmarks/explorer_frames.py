"""Size of the example's page, and time of a frame of its explorer in Chromium: python tests/benchmarks/explorer_frames.py [folder].

The tanks are the example's, and the same with each triangle cut in four, twice. A frame is all that the script does between
an input and the paper; "shown" is from the input to the frame after it, drawing included.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

import solids
from browser import Page, browser
from commands import DEMO

from fuelsys import review
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.report.page.contents import review_files
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown

_TIMED = """window.frames_ms = []; const real = requestAnimationFrame;
window.requestAnimationFrame = (act) => real((at) => {
  const began = performance.now();
  act(at);
  frames_ms.push(performance.now() - began);
});"""
_MOVES = """const rest = (ms) => new Promise((done) => setTimeout(done, ms)), one = (id) => document.getElementById(id);
await rest(6000); const shown = []; frames_ms.length = 0;
for (let k = 0; k < 60; k++) {
  const began = performance.now(), full = one("ex-quantity").max;
  const moves = [["pitch", 12 * Math.sin(k)], ["roll", 9 * Math.cos(k)], ["quantity", 0.5 * (1 + Math.sin(k)) * full]];
  const [name, value] = moves[k % 3];
  one(`ex-${name}`).value = value; one(`ex-${name}`).dispatchEvent(new Event("input"));
  const told = frames_ms.length; while (frames_ms.length === told) await rest(0);
  await new Promise((done) => setTimeout(done, 0)); shown.push(performance.now() - began);
}
const of = (list, share) => list.sort((a, b) => a - b)[Math.floor(share * list.length)];
return [of(frames_ms, 0.1), of(frames_ms, 0.5), of(frames_ms, 0.9), of(shown, 0.5)];"""


def finer(tank: FittedTank) -> FittedTank:
    """The same tank, each triangle in four."""
    cavity = tank.cavity
    vertices, faces = solids.subdivide(cavity.vertices_m + cavity.centre_m, cavity.faces.astype(np.int64))
    made = Cavity.of(vertices, faces.astype(np.int32), cavity.name)
    spots = {name: made.spot(name, spot.point_m + cavity.centre_m) for name, spot in tank.spots.items()}
    return replace(tank, cavity=made, spots=spots)


def frames(chromium: Page, html: str, folder: Path, slowed: int) -> list[float]:
    """Times of a frame at the 10th, 50th and 90th percentile, and until it is shown, in ms."""
    file = folder / "page.html"
    file.write_text(html, encoding="utf-8")
    chromium.set("Emulation.setCPUThrottlingRate", rate=1)
    chromium.open(file)
    chromium.set("Emulation.setCPUThrottlingRate", rate=slowed)
    found: list[float] = chromium.run(_MOVES)
    return found


def main() -> None:
    """Measure and print."""
    layout: Layout = review.read(DEMO)
    study = review.study(layout)
    files = review_files(study, review.findings(study), Shown(), datetime.now(), "0", lambda _: None)
    without = review_files(study, review.findings(study), Shown(), datetime.now(), "0", lambda _: None, False)
    sizes = [len(made["index.html"]) / 1e6 for made in (files, without)]
    print(f"page of the example: {sizes[0]:.3f} MB; without the explorer {sizes[1]:.3f} MB")
    if len(sys.argv) > 1:
        (Path(sys.argv[1]) / "index.html").write_bytes(files["index.html"])
    with browser() as chromium, tempfile.TemporaryDirectory() as folder:
        chromium.set("Page.addScriptToEvaluateOnNewDocument", source=_TIMED)
        chromium.set("Emulation.setDeviceMetricsOverride", width=1400, height=1000, deviceScaleFactor=1, mobile=False)
        html = files["index.html"].decode()
        for step in range(3):
            if step:
                layout = replace(layout, tanks=tuple(finer(tank) for tank in layout.tanks))
                html = page(review.study(layout), [], {}, {}, datetime.now(), "0", Shown(), True)
            for slowed in (1, 4):
                low, middle, high, shown = frames(chromium, html, Path(folder), slowed)
                print(
                    f"{len(layout.tanks[0].cavity.faces)} triangles, processor / {slowed}: frame {low:.1f} / {middle:.1f} / {high:.1f} ms "
                    f"(10th, 50th, 90th of 60), shown after {shown:.1f} ms; page {len(html) / 1e6:.2f} MB",
                    flush=True,
                )


if __name__ == "__main__":
    main()
