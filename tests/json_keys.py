"""The keys of JSON tables as they are promised in json_form.json, and the kinds of table that an answer holds."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

Keys = dict[str, list[str]]
_PROMISED = json.loads(Path(__file__).with_name("json_form.json").read_text(encoding="utf-8"))
PROMISED: int = _PROMISED["form"]
KEPT: Keys = _PROMISED["rows"]
# Columns of tables that a design may leave out.
VARYING = {
    "flow": {one for one in KEPT["flow"] if one.startswith("brought_")},
    "TANK-filltest-correction": set(KEPT["TANK-filltest-correction"]) - {"readings", "noise_m", "status"},
}
NAMES = {"left": "TANK", "right": "TANK", "header": "TANK", "main": "TANK", "probe": "GAUGE"}


def plain(text: str) -> str:
    """A table's key, or a row's `in_left_m3`, without the names of the example's tanks and gauges."""
    for name, kind in NAMES.items():
        text = re.sub(
            rf"^{name}-|(?<=-){name}(?=-)|^in_{name}_m3$", lambda found, k=kind, n=name: found[0].replace(n, k), text
        )
    return text


def form(tables: Iterable[Mapping[str, Any]]) -> Keys:
    """Kind of table -> keys of its rows: as they are promised where they agree, else as they are."""
    found: Keys = {}
    for table in tables:
        key = table["key"] if table["key"] in KEPT else plain(table["key"])
        kind = max((kind for kind in KEPT if key == kind or key.startswith(f"{kind}-")), key=len, default=key)
        for row in table["rows"]:
            keys = list(dict.fromkeys(map(plain, row)))
            promised = KEPT.get(kind, [])
            there = [one for one in promised if one in keys or one not in VARYING.get(kind, ())]
            agree = keys == there
            found[kind] = promised if agree and found.get(kind, promised) == promised else keys
    return found


def broken(found: Keys) -> Keys:
    """Those of some kinds of table that are not as promised."""
    return {kind: keys for kind, keys in found.items() if KEPT.get(kind) != keys}
