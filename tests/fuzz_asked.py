"""Commands with options of their own for a spoilt design, most of them good; for fuzz_designs.py."""

from __future__ import annotations

import random
from typing import Any

from fuzz_values import GIVEN, KNOWN, LENGTHS_SHOWN, NAME, WORDS, tables

# How often each command is asked.
OFTEN = {
    "check": 30, "capacity": 3, "unusable": 3, "switches": 4, "flow": 9, "dipstick": 6, "levels": 6, "place": 8, "tolerance": 4, "map": 3,
    "review": 1.4, "checklist": 6, "fly": 8, "filltest": 9, "gauge": 4, "drill": 2, "mesh": 2, "new": 2,
    "rules": 0.5, "demo": 0.2, "balance": 3,
}  # fmt: skip
BARE = ("mesh", "new", "rules", "demo")  # commands that no design file goes with


def _option(chance: random.Random, name: str, values: list[str], often: float = 0.4) -> list[str]:
    return [name, chance.choice(values)] if chance.random() < often else []


def arguments(design: Any, chance: random.Random) -> list[str]:
    """A command with options of its own, most of them good."""
    tanks = [str(tank.get("name")) for tank in tables(design, "tank")] or ["main"]
    names = [str(one.get("name")) for one in tables(design, "attitude")] or ["cruise"]
    lengths, volumes = [*GIVEN["length"], "40", "nan mm", "5 L"], [*GIVEN["volume"], "x", "-1 L", "1e-9 L"]
    angles = [
        "-5..5 deg",
        "5..-5 deg",
        "0..0 deg",
        "-89..89 deg",
        "-90..90 deg",
        "-180..180 deg",
        "x..y deg",
        "0..1e-9 deg",
    ]
    shares, tank = ["0 %", "5 %", "100 %", "-1 %", "250 %"], [*tanks, *tanks, *tanks, "nobody", ""]
    small = ["2", "3", "1", "0", "-1", "x"]
    command = chance.choices(list(OFTEN), list(OFTEN.values()))[0]
    own = {
        "check": lambda: ["--all"] if chance.random() < 0.5 else [],
        "dipstick": lambda: [
            *_option(chance, "--tank", tank), *_option(chance, "--attitude", [*names, "never"]),
            *_option(chance, "--attitude", names, 0.3),
            *(["--replace", "--into", chance.choice(["out/s.pdf", "out/s.svg", "out/s.txt", "out/s.x"])] if chance.random() < 0.4 else []),
        ],
        "balance": lambda: [*_option(chance, "--tank", tank), *(["--replace", "--picture", "out/b.svg"] if chance.random() < 0.4 else [])],
        "levels": lambda: [
            *_option(chance, "--tank", tank), *_option(chance, "--at", [*names, "never"]),
            *_option(chance, "--pitch", GIVEN["angle"]), *_option(chance, "--roll", GIVEN["angle"]),
            *_option(chance, "--level-step", lengths, 0.3), *_option(chance, "--volume-step", volumes, 0.3),
        ],
        "place": lambda: [
            "--tank", chance.choice(tank), "--reserve", chance.choice([*GIVEN["time"], "0 min", "-5 min"]),
            *(["--search", chance.choice(["25 mm", "60 mm", "1 m", "1e-9 mm", "0 mm", "-5 mm", "4 mm"])] if chance.random() < 0.4
              else ["--x", _along(chance), "--y", _along(chance)]),
            *(["--guaranteed"] if chance.random() < 0.4 else []),
            *_option(chance, "--picture", ["out/plan.png", "out/plan.svg", "out/plan.pdf"], 0.1),
        ],
        "tolerance": lambda: [
            *_option(chance, "--tank", tank), *_option(chance, "--set-off", lengths), *_option(chance, "--mounted", GIVEN["angle"]),
            *_option(chance, "--flow", shares), *_option(chance, "--capacity", shares), "--samples", chance.choice(small),
            *_option(chance, "--density", shares, 0.3), *(["--combined"] if chance.random() < 0.1 else []),
            *_option(chance, "--workers", ["1", "2", "0"], 0.3),
        ],
        "map": lambda: [
            "--tank", chance.choice(tank), *_option(chance, "--pitch", angles), *_option(chance, "--roll", angles),
            "--steps", chance.choice(small), *_option(chance, "--picture", ["out/map.png", "out/map.svg"], 0.1),
        ],
        "fly": lambda: [
            *(["--failures"] if chance.random() < 0.3 else []), *_option(chance, "--from", GIVEN["time"], 0.1),
            *_option(chance, "--picture", ["out/fly.png", "out/fly.svg"], 0.05),
        ],
        "gauge": lambda: [
            *_option(chance, "--tank", tank), *_option(chance, "--gauge", ["probe", "none"], 0.2),
            *_option(chance, "--error", GIVEN["volume"], 0.4), *_option(chance, "--picture", ["out/gauge.png"], 0.05),
        ],
        "drill": lambda: [
            "--tank", chance.choice(tank), "--into", chance.choice(["out/drill.svg", "out/drill.pdf", "out/drill.png"]),
            *_option(chance, "--paper", ["a4", "letter", "a9"], 0.3), *_option(chance, "--length", LENGTHS_SHOWN, 0.2),
        ],
        "filltest": lambda: [
            "--tank", chance.choice(tank), *_option(chance, "--at", [*names, "never"], 0.3),
            *(["--sheet", chance.choice(["out/sheet.csv", "out/sheet.pdf", "out/sheet.svg"])]
            if chance.random() < 0.2 else ["--from", f"out/filled-{chance.randrange(1 << 30)}.csv"]),
            *_option(chance, "--picture", ["out/fill.png"], 0.05), *_option(chance, "--paper", ["a4", "letter"], 0.05),
        ],
        "checklist": lambda: [
            *_option(chance, "--section", ["inside", "outside", "paper", "lines", "x"]), *_option(chance, "--tank", tank, 0.2)],
        "review": lambda: ["--into", "out/review"],
        "flow": lambda: [
            *_option(chance, "--picture", ["out/flow.png", "out/flow.svg"], 0.1),
            *_option(chance, "--temperature", ["35 degC", "-40 degC", "110 degF", "500 degC", "35"], 0.1),
        ],
        "mesh": lambda: [
            chance.choice(KNOWN), *_option(chance, "--unit", WORDS["unit"], 0.9), *_option(chance, "--picture", ["out/mesh.png"], 0.1),
            *(["--mend", "--into", "out/mended.ply"] if chance.random() < 0.3 else []),
            *_option(chance, "--weld", lengths, 0.2), *_option(chance, "--fill", lengths, 0.2),
            *(["--inside"] if chance.random() < 0.1 else []), *_option(chance, "--body", ["1", "2", "0", "nobody"], 0.2),
        ],
        "new": lambda: [
            *(chance.choice(KNOWN) for _ in range(chance.choice([1, 1, 2, 5]))), *_option(chance, "--unit", WORDS["unit"], 0.9),
            *_option(chance, "--axes", WORDS["axes"], 0.4), "--into", chance.choice(["out/new.toml", "out/no/new.toml", "out/new.csv"]),
        ],
        "rules": lambda: chance.choice([[], ["vent-below-full-level"], ["vent"], [""], ["-"]]),
        "demo": lambda: ["--into", "out/demo"],
    }.get(command, lambda: _option(chance, "--tank", tank))()  # fmt: skip
    shown = [
        *_option(chance, "--volume", [*WORDS["volume"], "litres", "x"], 0.2),
        *_option(chance, "--length", LENGTHS_SHOWN, 0.2),
    ]
    formless = ("review", "drill", "new", "rules", "demo")
    form = _option(chance, "--form", ["csv", "json", "table", "xml"], 0.5) if command not in formless else []
    design_file = [] if command in BARE else [NAME]
    return [command, *design_file, *own, *([] if command in (*BARE, "drill") else shown), *form]


def _along(chance: random.Random) -> str:
    return chance.choice(["100 mm", "80 mm", "200 mm", "250 mm", "-300 mm", "0 mm", "0.2 m", "3 m"])


# --- a sheet as a person fills it in --------------------------------------------------------------------------------------


def sheet(seed: int) -> str:
    """A fill test's sheet, sound or spoilt, by seed: pours of a tank of some 48 L, with what people write between them."""
    chance = random.Random(seed)
    unit, stick = chance.choice(["L", "L", "US gal", "kg", ""]), chance.choice(["mm", "mm", "in", ""])
    heads = [
        "step",
        f"poured [{unit}]",
        "drained [L]",
        "temperature [degC]",
        "in tank [degC]",
        f"stick [{stick}]",
        "signal",
        "lamps lit",
        "attitude",
        "remark",
    ]
    lines, pour, read = [heads], chance.choice([2.0, 4.0, 5.0, 10.0]), 0.0
    for step in range(chance.choice([1, 2, 5, 12, 24])):
        read += chance.uniform(2.0, 4.0) * pour
        warm = f"{chance.uniform(5.0, 30.0):.1f}" if unit == "kg" else ""
        lines.append(
            [
                str(step),
                f"{pour}" if step else "0",
                "",
                warm,
                "",
                "dry" if step == 0 else f"{read:.0f}",
                f"{240 - read:.0f}",
                *[""] * 3,
            ]
        )
    for _ in range(chance.choice([0, 0, 1, 2, 5])):
        row = chance.randrange(len(lines))
        if chance.random() < 0.2:
            lines.insert(row, list(lines[chance.randrange(len(lines))]))
        else:
            lines[row][chance.randrange(len(heads))] = chance.choice([*ODD_CELLS, "parked on a slope", "7"])
    return "\n".join(
        chance.choice([",", ",", ",", ",", ";"] if step == 0 else [","]).join(line) for step, line in enumerate(lines)
    )


ODD_CELLS = [
    "", "0", "-5", "1e308", "nan", "inf", "dry", "none", "30 min", "low", "30 min; low", "5 gal", "3.6 kg", "3,6", '"', "'=1+1", "=1+1",
    "12.5 in", "-300", "5000", "9000 L", "x", "\u202e", "poured [L]", "poured", "stick [L]", "250 degC", "\x00", "é", "1e-300",
]  # fmt: skip
