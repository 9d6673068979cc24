"""Broken fields of design files: each is told in a line that names the field, what was found and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
from spoilt import GOOD, told

POINT = 'Give x, y and z, such as ["120 mm", "-40 mm", "0 mm"].'
LENGTH = 'Write a length as a number and a unit in quotes, such as "12.5 mm".'
LENGTHS = "Use one of: mm, cm, m, in, ft, um."
SPELLING = "Check its spelling and the table that it stands in, or take it out."
ADD = "Add it; `fuelsys new MESH` shows every field with an example."

# What is wrong: text of GOOD, what stands in its place, and the lines that are told, without the file's name.
CASES = {
    # fields that are not there, or should not be
    "unknown key": (
        'bore = "8 mm"\n\n',
        'boore = "8 mm"\n\n',
        f'tank left.outlet.boore: there is no such field. Is "bore" meant? {SPELLING}',
    ),
    "a name of the program's own": (
        'bore = "8 mm"\n\n',
        'bore_m = "8 mm"\n\n',
        f'tank left.outlet.bore_m: there is no such field. Is "bore" meant? {SPELLING}',
    ),
    "a key in the wrong table": ("[flows]", 'bore = "8 mm"\n[flows]', f"fuel.bore: there is no such field. {SPELLING}"),
    "an unknown table": ("[flows]", "[crew]\n[flows]", f"crew: there is no such field. {SPELLING}"),
    "missing key": ('datum = "firewall"\n', "", f"aircraft.datum: missing. {ADD}"),
    "missing table": (
        '[fuel]\nkind = "avgas"\ndensity = "0.72 kg/L"\nreserve_phase = "cruise"\n',
        "",
        f"fuel: missing. {ADD}",
    ),
    "missing in a tank": ('unit = "mm"\n', "", f"tank left.unit: missing. {ADD}"),
    "no name": ('name = "climb"\n', "", f"attitude[3].name: missing. {ADD}"),
    "empty name": ('name = "climb"', 'name = ""', "attitude[3].name: found an empty text. Fill it in."),
    "a dot in a name": (
        'name = "filter"',
        'name = "filter.1"',
        'component filter.1.name: found "filter.1". Give a name without a dot that does not begin with a blank.',
    ),
    # fields that are another kind's
    "a filter with a valve's field": (
        "drain = true",
        "drain = true\nengine_side = false",
        'component filter.engine_side: a component of kind "filter" has none. Take it out; it belongs to kind "selector" or "valve".',
    ),
    "an engine with a drain, a bowl and more": (
        'kind = "filter"\n',
        'kind = "engine"\nsediment = "60 mL"\nswitches_return = true\ndischarges_clear = true\n',
        'component filter.sediment: a component of kind "engine" has none. Take it out; it belongs to kind "filter".',
        'component filter.switches_return: a component of kind "engine" has none. Take it out; it belongs to kind "selector".',
        'component filter.discharges_clear: a component of kind "engine" has none. Take it out; it belongs to kind "overboard".',
        'component filter.drain: a component of kind "engine" has none. Take it out; it belongs to kind "selector", "valve", "check'
        ' valve", "filter", "pump" or "tee".',
    ),
    "a field of no kind": (
        "drain = true",
        "drains = true",
        f"component filter.drains: there is no such field. {SPELLING}",
    ),
    "a kind that there is not": (
        'kind = "filter"\n',
        'kind = "gascolator"\n',
        'component filter.kind: found "gascolator". Write "selector", "valve", "check valve", "filter", "pump", "engine", "tee" or'
        ' "overboard".',
    ),
    "a drive that there is not": (
        'kind = "filter"\n',
        'kind = "pump"\ndriven = "belt"\n',
        'component filter.driven: found "belt". Write "engine", "electric" or "hand".',
    ),
    "no kind": ('kind = "filter"\n', "", f"component filter.kind: missing. {ADD}"),
    # quantities
    "bare number": ('bore = "8 mm"\npath', "bore = 8\npath", f"line left feed.bore: found the bare number 8. {LENGTH}"),
    "number without a unit": (
        'bore = "8 mm"\npath',
        'bore = "8"\npath',
        f'line left feed.bore: found "8", without a unit. {LENGTH}',
    ),
    "true for a length": ('bore = "8 mm"\npath', "bore = true\npath", f"line left feed.bore: found true. {LENGTH}"),
    "wrong dimension": (
        'bore = "8 mm"\npath',
        'bore = "12 L"\npath',
        f'line left feed.bore: found "12 L": "L" is not a unit of length. {LENGTHS}',
    ),
    "unknown unit": (
        'bore = "8 mm"\npath',
        'bore = "8 furlongs"\npath',
        f'line left feed.bore: found "8 furlongs": "furlongs" is not a unit of length. {LENGTHS}',
    ),
    "decimal comma": (
        'bore = "8 mm"\npath',
        'bore = "8,5 mm"\npath',
        'line left feed.bore: found "8,5 mm", with a comma. Write the decimals after a point, and no other commas.',
    ),
    "NaN": ('bore = "8 mm"\npath', 'bore = "nan mm"\npath', f'line left feed.bore: found "nan mm". {LENGTH}'),
    "infinity": ('bore = "8 mm"\npath', 'bore = "inf mm"\npath', f'line left feed.bore: found "inf mm". {LENGTH}'),
    "TOML's own infinity": (
        'bore = "8 mm"\npath',
        "bore = inf\npath",
        f"line left feed.bore: found the bare number inf. {LENGTH}",
    ),
    "1e999": (
        'bore = "8 mm"\npath',
        'bore = "1e999 mm"\npath',
        'line left feed.bore: found "1e999 mm", which is too large. Give a length within reason.',
    ),
    "a date": ('bore = "8 mm"\npath', "bore = 2024-02-29\npath", f"line left feed.bore: found 2024-02-29. {LENGTH}"),
    "negative bore": (
        'bore = "8 mm"\npath',
        'bore = "-8 mm"\npath',
        'line left feed.bore: found "-8 mm", which is too small. Give a bore from 0.5 mm to 200 mm; is the unit right?',
    ),
    "inches typed as millimetres": (
        'bore = "8 mm"\npath',
        'bore = "0.3 mm"\npath',
        'line left feed.bore: found "0.3 mm", which is too small. Give a bore from 0.5 mm to 200 mm; is the unit right?',
    ),
    "millimetres typed as inches": (
        'bore = "8 mm"\npath',
        'bore = "8 in"\npath',
        'line left feed.bore: found "8 in", which is too large. Give a bore from 0.019685 in to 7.874 in; is the unit right?',
    ),
    "density in the wrong unit": (
        "0.72 kg/L",
        "0.72 kg/m3",
        'fuel.density: found "0.72 kg/m3", which is too small. Give a density from 500 kg/m3 to 1200 kg/m3; is the unit right?',
    ),
    "gallons of which kind": (
        "21 L/h",
        "6 gal/h",
        'flows.cruise: found "6 gal/h", which may be US or imperial. Write "US gal/h" or "imp gal/h".',
    ),
    "no flow": (
        "21 L/h",
        "0 L/h",
        'flows.cruise: found "0 L/h", which is too small. Give a flow more than 0 L/h and at most 10800 L/h; is the unit right?',
    ),
    "a place of two": (
        '"0 mm"]\nbore',
        '"0"]\nbore',
        f'tank left.outlet.position[3]: found "0", without a unit. {LENGTH}',
    ),
    "a place of two numbers": (', "0 mm"]\nbore', "]\nbore", f"tank left.outlet.position: found a list of 2. {POINT}"),
    "a place in words": (
        '["280 mm", "100 mm", "0 mm"]',
        '"rear corner"',
        f'tank left.outlet.position: found "rear corner". {POINT}',
    ),
    "a place for a list of places": (
        'path = [["400 mm", "-560 mm", "800 mm"]]',
        'path = ["400 mm", "-560 mm", "800 mm"]',
        f'line left feed.path[1]: found "400 mm". {POINT}',
        f'line left feed.path[2]: found "-560 mm". {POINT}',
        f'line left feed.path[3]: found "800 mm". {POINT}',
    ),
    "a text for a list of places": (
        'path = [["400 mm", "-560 mm", "800 mm"]]',
        'path = "straight"',
        'line left feed.path: found "straight". Write it as a list; a list of tables has double brackets, [[line.path]].',
    ),
    "a bare number in a bend": (
        '[["400 mm"',
        "[[400",
        f"line left feed.path[1][1]: found the bare number 400. {LENGTH}",
    ),
    # words
    "wrong word": (
        'engine = "piston"',
        'engine = "Piston"',
        'aircraft.engine: found "Piston". Write "piston" or "turbine".',
    ),
    "wrong word of four": (
        'kind = "avgas"',
        'kind = "petrol"',
        'fuel.kind: found "petrol". Write "avgas", "mogas", "jet" or "diesel".',
    ),
    "a number for a word": (
        'phase = "ground"',
        "phase = 1",
        'attitude parked.phase: found 1. Write "ground" or "flight".',
    ),
    **{
        f"load factor of {given}": (
            'axes = "aft, right, up"\nengine',
            f'axes = "aft, right, up"\nlimit_load_factor = {given}\nengine',
            f"aircraft.limit_load_factor: found {given}. Give a load factor as a plain number without a unit, more than 0 and at"
            " most 20, such as 3.8.",
        )
        for given in ('"3.8 g"', "0", "-1.5", "true", "38.0", "nan")
    },
    "a number for a text": ('datum = "firewall"', "datum = 3.5", "aircraft.datum: found 3.5. Write a text in quotes."),
    "a text for true": (
        "drain = true",
        'drain = "yes"',
        'component filter.drain: found "yes". Write true or false, without quotes.',
    ),
    # shapes
    "single brackets for a tank": (
        "[[component]]",
        "[component]",
        "component: found a table. Write it as a list; a list of tables has double brackets, [[component]].",
    ),
    "double brackets for the aircraft": (
        "[aircraft]",
        "[[aircraft]]",
        "aircraft: found a list of 1. Write it as a table, [aircraft].",
    ),
    "a text for a table": (
        'strainer = { mesh = "12 1/in" }',
        'strainer = "fine"',
        'tank right.outlet.strainer: found "fine". Write it as a table, [tank.outlet.strainer].',
    ),
    "a list for the flows": (
        '[flows]\ntakeoff = "36 L/h"\ncruise = "21 L/h"\n',
        '[[flows]]\ncruise = "21 L/h"\n',
        "flows: found a list of 1. Write it as a table, [flows].",
    ),
    "no flows": ('takeoff = "36 L/h"\ncruise = "21 L/h"\n', "", "flows: there is none. Give at least one."),
    "a text in a list of tables": (
        "outlet = [{",
        'inlet = ["x"]\noutlet = [{',
        'tank right.inlet[1]: found "x". Write it as a table, [tank.inlet].',
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_is_told(tmp_path: Path, case: str) -> None:
    old, new, *said = CASES[case]
    assert GOOD.count(old) >= 1
    assert told(tmp_path, GOOD.replace(old, new, 1)) == [f"wing.toml: {line}" for line in said]
