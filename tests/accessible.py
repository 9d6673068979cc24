"""Checks a review's page with axe-core in Chromium: light and dark, on a telephone and a desk, nothing above minor.

npm install --prefix /tmp/axe axe-core
PYTHONPATH=tests python tests/accessible.py demo-review/index.html /tmp/axe/node_modules/axe-core/axe.min.js
"""

from __future__ import annotations

import sys
from pathlib import Path

from browser import browser

_RUN = """
for (const one of document.querySelectorAll("details")) one.open = true;
const told = await axe.run(document, { resultTypes: ["violations"] });
return told.violations.filter((one) => one.impact !== "minor").map(
  (one) => `${one.impact} ${one.id}: ${one.nodes.length}, such as ${one.nodes[0].html.slice(0, 160)}`);
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
                print(f"{scheme}, {width} px: {'; '.join(found) or 'nothing above minor'}")
    return faults


if __name__ == "__main__":
    sys.exit(min(1, main(Path(sys.argv[1]), Path(sys.argv[2]))))
