"""Checks a review's page with axe-core in Chromium, light and dark, on a telephone and a desk: nothing above minor, nothing undecided.

Where axe leaves contrast open, what is painted below the letters is measured.

npm install --prefix /tmp/axe axe-core
PYTHONPATH=tests python tests/accessible.py demo-review/index.html /tmp/axe/node_modules/axe-core/axe.min.js
"""

from __future__ import annotations

import sys
from pathlib import Path

from browser import browser

_RUN = """
for (const one of document.querySelectorAll("details")) one.open = true;
const told = await axe.run(document, { resultTypes: ["violations", "incomplete"] });
const say = (one, how) => `${how} ${one.impact} ${one.id}: ${one.nodes.length}, such as ${one.nodes[0].html.slice(0, 160)}`;
const found = told.violations.filter((one) => one.impact !== "minor").map((one) => say(one, ""));
for (const one of told.incomplete) {
  if (one.id === "color-contrast") one.nodes = one.nodes.filter((node) => contrast(document.querySelector(node.target[0])) < 4.5);
  if (one.nodes.length) found.push(say(one, "undecided"));
}
return found;

// What axe leaves open where letters lie on pictures or scroll out of a box: what is painted below their middle decides.
function contrast(text) {
  const parts = (color) => color.match(/[\\d.]+/g).map(Number);
  const light = (rgb) => rgb.slice(0, 3).map((c) => c / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, k) => sum + c * [0.2126, 0.7152, 0.0722][k], 0);
  text.scrollIntoView({ block: "center", inline: "center" });
  const box = text.getBoundingClientRect(), svg = text instanceof SVGElement;
  if (!box.width) return 21; // not shown
  const below = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2).filter((one) => !one.closest("text"));
  let ground = [255, 255, 255];
  for (const one of [...below, ...ancestors(text)]) {
    const style = getComputedStyle(one), drawn = one instanceof SVGGeometryElement;
    const fill = drawn ? style.fill : style.backgroundColor;
    if (fill === "none" || (drawn && !one.isPointInFill(at(one, box)))) continue;
    const [r, g, b, a = 1] = parts(fill);
    if (a * (drawn ? Number(style.fillOpacity) : 1) > 0.5) { ground = [r, g, b]; break; }
  }
  const letters = parts(svg ? getComputedStyle(text).fill : getComputedStyle(text).color);
  const [more, less] = [light(letters), light(ground)].sort((a, b) => b - a);
  return (more + 0.05) / (less + 0.05);
}
function at(shape, box) {
  return new DOMPoint(box.x + box.width / 2, box.y + box.height / 2).matrixTransform(shape.getScreenCTM().inverse());
}
function ancestors(one) {
  return one.parentElement ? [one.parentElement, ...ancestors(one.parentElement)] : [];
}
"""
_BARE = """
const told = [...document.querySelectorAll(".drawing .wide")].map((one) => one.getAttribute("aria-label") ?? "");
return told.filter((one) => !/\\d/.test(one));
"""


def main(page: Path, axe: Path) -> int:
    """Print what is wrong; -> how many kinds of fault, 0 for none."""
    faults = 0
    with browser() as chromium:
        for scheme in ("light", "dark"):
            for width in (390, 1400):
                feature = {"name": "prefers-color-scheme", "value": scheme}
                chromium.set("Emulation.setEmulatedMedia", features=[feature])
                size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
                chromium.set("Emulation.setDeviceMetricsOverride", **size)
                chromium.open(page.resolve())
                chromium.set("Runtime.evaluate", expression=axe.read_text(encoding="utf-8"))
                found = [
                    *chromium.run(_RUN),
                    *(f"a drawing without figures in words: {one}" for one in chromium.run(_BARE)),
                ]
                faults += len(found)
                print(f"{scheme}, {width} px: {'; '.join(found) or 'nothing above minor, nothing undecided'}")
    return faults


if __name__ == "__main__":
    sys.exit(min(1, main(Path(sys.argv[1]), Path(sys.argv[2]))))
