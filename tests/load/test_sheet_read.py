"""A fill test's sheet and a design's text by hand: what each cell is read as, what is refused and where, and what is put into a text."""

from __future__ import annotations

import tomllib
from pathlib import Path
from types import SimpleNamespace as Made
from typing import Any

import pytest

from fuelsys.errors import QuestionError, SheetError
from fuelsys.load.designs import amend, fillsheet
from fuelsys.load.designs.characters import faults as unseen
from fuelsys.load.designs.crosscheck import _gauge
from fuelsys.load.designs.door import _in_mesh
from fuelsys.load.designs.floats import fuel_density, switch_floats
from fuelsys.load.designs.leading import leading_on
from fuelsys.load.designs.mirror import _opposite, lateral
from fuelsys.model.stated.components import Engine, Filter, Pump, Selector, Tee, Valve
from fuelsys.model.stated.design import Line
from fuelsys.model.stated.fillsheet import Entry
from fuelsys.model.stated.fittings import Measured
from fuelsys.model.stated.gauges import Arm

# --- a sheet


def read(text: str | bytes, folder: Path, switches: tuple[str, ...] = ("low", "High")) -> tuple[Entry, ...]:
    path = folder / "sheet.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return fillsheet.read_sheet(path, switches).entries


def test_what_stands_in_each_column(tmp_path: Path) -> None:
    text = (
        "\ufeffstep, Poured [L],drained,temperature,in tank,stick [mm],stick 2,signal,signal 2,lamps lit,attitude,remark,,\n"
        '1,5,,15 degC,20 degC,dry,,,,none,,"sheet for tank left; attitude parked; mesh 0a, cold"\n'
        "\n"
        ",1e1,,,,12.5,3 cm,-3.5,,LOW; high,nose up,\n"
        "3,,2 kg,,,dry,DRY,,7.,,,\n"
        "4,,,,,,,,,,,\n"
        "5,0,0 L,,,,,,,,,\n"
    )
    one, two, three, four = read(text, tmp_path)
    assert (one.line, one.step, one.remark, one.dry, one.stick, one.lit, one.signals) == (
        2,
        "1",
        "cold",
        True,
        None,
        frozenset(),
        (),
    )
    assert one.amount is not None
    assert (one.amount.number, one.amount.unit, one.amount.kind, one.amount.si, one.drained) == (
        "5",
        "L",
        "volume",
        0.005,
        False,
    )
    assert (one.temperature_k, one.tank_k) == (288.15, 293.15)
    assert two.stick is not None
    assert two.also[0] is not None
    assert (two.line, two.dry, two.stick.si, two.also[0].si, two.also[1]) == (4, False, 0.0125, 0.03, None)
    assert (two.lit, two.attitude, two.signals) == (frozenset({"low", "High"}), "nose up", (-3.5, None, None))
    assert three.amount is not None
    assert (three.drained, three.amount.kind, three.amount.si, three.dry, three.also) == (
        True,
        "mass",
        2.0,
        True,
        (None, None),
    )
    assert (three.signals, three.place) == ((None, 7.0, None), "step 3, line 5 of the file")
    # Both nothing: what was poured; a line with a step alone says nothing.
    assert four.amount is not None
    assert (four.line, four.drained, four.amount.si) == (7, False, 0.0)
    sheet = fillsheet.read_sheet(tmp_path / "sheet.csv", ["low", "High"])
    assert sheet.made_for is not None
    assert (sheet.file, sheet.made_for.tank, sheet.made_for.mesh) == ("sheet.csv", "left", "0a")


@pytest.mark.parametrize(
    ("text", "field", "found", "mend"),
    [
        (b"\xff\xfe", "", "not UTF-8", "UTF-8"), ("  \n", "", "the file is empty", "writes one"), ("poured;stick\n1 L;dry\n", "line 1",
         "parted by semicolons", "commas"),
        ("poured\tstick\n1 L\tdry\n", "line 1", "parted by tabs", "commas"), ("poured,stick\n1,5 L,dry\n", "line 2",
         "it has 3 cells, and the heading 2", "after a point"),
        ("poured,stick,\n1 L,dry,x\n", "line 2", "it has 3 cells, and the heading 2", ""), ("poured,bucket\n", "line 1",
         'no column "bucket"', "The columns are step,"),
        ("poured,stick,stick\n", "line 1", "the column stick is there twice", "Take one out"), ("drained,stick\n", "line 1",
         "there is no column poured", "writes one"),
        ("poured,stick\n,dry\n", "poured", "no line says what was poured", "Fill in"), ('poured\n"1 L', "line 2", "this is not CSV",
         "again"),
        ("poured,drained\n1 L,1 L\n", "line 2", "both poured and drained", "a line each"), ("poured\n1\n", "line 2, poured",
         'found "1", without a unit', "such as"),
        ("poured\n1 cubit\n", "line 2, poured", '"cubit" is not a unit of volume', "or of mass: kg, g, lb."), ("poured\n-1 L\n",
         "line 2, poured", "negative", "the column drained"),
        ("poured,drained\n,-1 L\n", "line 2, drained", "negative", "without a minus sign"),
        ("poured\n10001 L\n", "line 2, poured", "too large", "unit"), ("poured\n10001 kg\n", "line 2, poured", "too large", "unit"),
        ("poured,stick\n1 L,100.1 m\n", "line 2, stick", "too large", ""), ("poured,stick\n1 L,7\n", "line 2, stick", "without a unit",
         'say the unit: "stick [mm]". A dry stick is "dry".'),
        ("poured,stick 2\n1 L,wet\n", "line 2, stick 2", 'found "wet"', "as a number and a unit, such as"),
        ("poured,temperature\n1 L,151 degC\n", "line 2, temperature", '"151 degC"', "-50 to 150"),
        ("poured,in tank\n1 L,-51 degC\n", "line 2, in tank", "-51", "-50 to 150"), ("poured,signal\n1 L,3 V\n", "line 2, signal",
         'found "3 V"', "without a unit"),
        ("poured,lamps lit\n1 L,low; hig\n", "line 2, lamps lit", 'there is no switch "hig"',
         'Is "High" meant? Name low, High, with semicolons between, or "none".'),
    ],
)  # fmt: skip
def test_what_a_sheet_is_refused_for(text: str | bytes, field: str, found: str, mend: str, tmp_path: Path) -> None:
    with pytest.raises(SheetError) as fault:
        read(text, tmp_path)
    assert (fault.value.file, fault.value.field) == ("sheet.csv", field)
    assert found in fault.value.found
    assert mend in fault.value.mend
    assert ("or of mass" in fault.value.mend) == ("cubit" in found)


def test_bounds_of_sense_themselves_are_read(tmp_path: Path) -> None:
    text = "poured,stick,temperature,in tank\n10000 L,100 m,150 degC,-49.9 degC\n10000 kg,0 mm,,\n"
    assert len(read(text, tmp_path)) == 2
    with pytest.raises(SheetError, match="the tank has no switch"):
        read("poured,lamps lit\n1 L,low\n", tmp_path, ())
    assert read("poured,lamps lit\n1 L,NONE\n", tmp_path, ())[0].lit == frozenset()


# --- switches and a test put into a design's text

TEXT = """# a design
[aircraft]
name = "x"

[[tank]]
name = "left"   # the left one

[[tank.switch]]
name = "low"
mark = ["1 mm", "2 mm", "3 mm"] # measured
target = "10 min"

# of the right one
[[tank]]
name = "right"

[tank.filler]
name = "filler"

[[line]]
name = "a"
"""


def with_switches(text: str, tank: str, *entries: dict[str, Any], replace: bool = False) -> str:
    return amend.with_switches(text, tank, entries, "design.toml", replace=replace)


NEW = {"name": "soon", "mark": ["4 mm", "5 mm", "6 mm"], "float": {"mass": "12 g", "height": "3 mm"}}
ADDED = (
    '\n[[tank.switch]]\nname = "soon"\nmark = ["4 mm", "5 mm", "6 mm"]\nfloat = { mass = "12 g", height = "3 mm" }\n'
)


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_switch_stands_behind_the_last_of_its_tank(newline: str, mark: str) -> None:
    text = mark + TEXT.replace("\n", newline)
    cut = text.index("# of the right one") - len(newline)
    assert with_switches(text, "left", NEW) == text[:cut] + ADDED.replace("\n", newline) + text[cut:]
    cut = text.index("[[line]]") - len(newline)
    assert with_switches(text, "right", NEW) == text[:cut] + ADDED.replace("\n", newline) + text[cut:]
    assert with_switches(text, "left") == text


def test_a_switch_that_is_there_is_changed_in_its_place() -> None:
    moved = {"name": "low", "mark": ["7 mm", "8 mm", "9 mm"], "tolerance": "3 mm"}
    wanted = TEXT.replace(
        'name = "low"\nmark = ["1 mm", "2 mm", "3 mm"]',
        'name = "low"\ntolerance = "3 mm"\nmark = ["7 mm", "8 mm", "9 mm"]',
    )
    assert with_switches(TEXT, "left", moved, replace=True) == wanted
    cut = wanted.index("\n# of the right one")
    assert with_switches(TEXT, "left", moved, NEW, replace=True) == wanted[:cut] + ADDED + wanted[cut:]
    with pytest.raises(QuestionError, match="it has switches of these names already: low") as fault:
        with_switches(TEXT, "left", NEW, moved)
    assert (fault.value.file, fault.value.field) == ("design.toml", "tank left")
    assert with_switches(TEXT, "left", NEW, replace=True) == with_switches(TEXT, "left", NEW)


def test_a_text_without_a_newline_at_its_end_gets_one() -> None:
    assert with_switches('[[tank]]\nname = "left"', "left", NEW) == '[[tank]]\nname = "left"\n' + ADDED
    path_text = amend.with_switches('[[tank]]\nname = "left"', "left", [NEW], "x", replace=False)
    assert tomllib.loads(path_text)["tank"][0]["switch"] == [NEW]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('tank = [{ name = "left" }]\n', "cannot be told apart"), ('[[tank]]\nname = "left"\nswitch = [{ name = "low" }]\n',
         "switches cannot be written"),
        ('[[tank]]\nname = "left"\nmirror_of = "right"\n[[tank]]\nname = "right"\n', "it is the mirror image of right"),
    ],
)  # fmt: skip
def test_where_a_switch_cannot_be_put_in(text: str, found: str) -> None:
    with pytest.raises(QuestionError, match=found):
        with_switches(text, "left", NEW)


@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_fill_test_is_put_in_and_put_in_place_of_another(mark: str, tmp_path: Path) -> None:
    path = tmp_path / "design.toml"
    path.write_bytes((mark + TEXT).encode("utf-8"))
    told = Measured(sheet="s.csv", sha256="0" * 64, date="2026-05-30", at="parked")
    text = amend.with_test(path, "left", told)
    table = f'[tank.measured]\nsheet = "s.csv"\nsha256 = "{"0" * 64}"\ndate = "2026-05-30"\nat = "parked"\n'
    cut = (mark + TEXT).index("\n# of the right one")
    assert text == (mark + TEXT)[:cut] + "\n" + table + (mark + TEXT)[cut:]
    path.write_bytes(text.encode("utf-8"))
    later = Measured(sheet="t.csv", sha256="1" * 64, date="2026-06-01", at="parked")
    assert amend.with_test(path, "left", later) == text.replace("s.csv", "t.csv").replace("0" * 64, "1" * 64).replace(
        "05-30", "06-01"
    )
    path.write_bytes(b'[[tank]]\nname = "left"')
    assert amend.with_test(path, "left", told) == '[[tank]]\nname = "left"\n\n' + table
    path.write_bytes(b'[[tank]]\nname = "left"\n[tank.measured]\nsheet = "old"\nodd = 1\n')
    with pytest.raises(QuestionError, match="the fill test cannot be written"):
        amend.with_test(path, "left", told)


# --- what a design file says against itself


@pytest.mark.parametrize(
    ("low", "high", "out"),
    [(700.0, 760.0, False), (720.0, 760.0, False), (700.0, 720.0, False), (721.0, 760.0, True), (700.0, 719.0, True)],
)
def test_a_density_within_its_range(low: float, high: float, out: bool) -> None:
    fuel: Any = Made(density_range_kg_m3=(low, high), density_kg_m3=720.0)
    assert [one.place for one in fuel_density(fuel)] == ([("fuel", "density_range")] if out else [])
    assert list(fuel_density(Made(density_range_kg_m3=None, density_kg_m3=720.0))) == []


@pytest.mark.parametrize(
    ("sinks", "between", "set_in", "told"),
    [
        (719.0, None, None, ""), (720.0, None, None, "it sinks in 0.72 kg/L"), (699.0, (700.0, 760.0), None, ""), (700.0, (700.0, 760.0),
         None, "it sinks in 0.7 kg/L"),
        (719.0, None, 1000.0, ""), (650.0, None, 650.0, "it sinks in 0.65 kg/L"), (650.0, (700.0, 760.0), 651.0, ""),
    ],
)  # fmt: skip
def test_a_float_that_sinks(sinks: float, between: Any, set_in: float | None, told: str) -> None:
    body = Made(sized=True, sinks_below_kg_m3=sinks)
    tank: Any = Made(switch=[Made(float_body=None, set_in_kg_m3=None), Made(float_body=body, set_in_kg_m3=set_in)])
    fuel: Any = Made(density_range_kg_m3=between, density_kg_m3=720.0)
    found = list(switch_floats(("tank", 0), tank, fuel))
    assert [one.found.split(":")[0] for one in found] == ([told] if told else [])
    assert [one.place for one in found] == [("tank", 0, "switch", 1, "float")] * bool(told)


def test_a_float_of_which_too_little_is_said() -> None:
    fuel: Any = Made(density_range_kg_m3=None, density_kg_m3=720.0)
    tank: Any = Made(
        switch=[Made(float_body=None, set_in_kg_m3=1000.0), Made(float_body=Made(sized=False), set_in_kg_m3=None)]
    )
    assert [one.place[-1] for one in switch_floats(("tank", 0), tank, fuel)] == ["set_in", "float"]


@pytest.mark.parametrize(
    ("pivot", "empty", "full", "told"),
    [
        ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (0.0, 0.0, 0.1), ""), ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (0.0, 0.0, 0.1009), ""),
        ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (0.0, 0.0, 0.102), "from pivot to empty it is 100 mm, to full 102 mm"),
        ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (0.1, 0.0, 0.0), "two of pivot, empty and full"),
        ((0.0, 0.0, 0.0), (0.0001, 0.0, 0.0), (0.0, 0.0, 0.0002), "two of pivot, empty and full"),
        ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (-0.1, 0.0, 0.0), "pivot, empty and full lie on one line"),
        ((0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (-0.1, 0.0, 0.004), ""),
    ],
)  # fmt: skip
def test_the_swing_of_an_arm(pivot: Any, empty: Any, full: Any, told: str) -> None:
    arm = Arm.model_construct(pivot_m=pivot, empty_m=empty, full_m=full)
    assert [one.found.startswith(told) for one in _gauge(("tank", 0), arm, "mm")] == [True] * bool(told)


@pytest.mark.parametrize(("top_mm", "told"), [(1.01, 0), (0.99, 1)])
def test_a_probe_has_two_ends(top_mm: float, told: int) -> None:
    probe: Any = Made(bottom_m=(0.0, 0.0, 0.0), top_m=(0.0, 0.0, top_mm / 1e3))
    assert len(list(_gauge(("tank", 0), probe, "mm"))) == told


def test_a_character_that_cannot_be_seen_is_named() -> None:
    good = {
        "name": "left\u00a0wing é \U0001f6e9",
        "list": ["a b", {"k": 1}],
    }  # a blank that does not break is no letter, and is seen
    assert list(unseen(good)) == []
    (fault,) = unseen({"tank": [{"name": "a"}, {"name": "b\u200bc"}]})
    assert (fault.place, "(zero width space)" in fault.found, fault.found.startswith("found")) == (
        ("tank", 1, "name"),
        True,
        True,
    )
    (fault,) = unseen({"a\x07": 1})
    assert fault.found.startswith("the key")
    assert "control character 7" in fault.found


def test_a_place_in_the_unit_of_its_mesh() -> None:
    import numpy as np

    tank: Any = Made(unit="in")
    assert _in_mesh(tank, np.array([0.0254, -0.0127, -1e-12])) == "(1, -0.5, 0) in"


def test_the_axis_across_and_lengths_of_the_other_sign() -> None:
    assert [
        lateral(words)
        for words in ("aft, right, up", "left, aft, up", "up, aft, left", "right, left, up", "right, up", 7)
    ] == [1, 0, 2, None, None, None]
    assert [_opposite(one) for one in ("20 mm", "-20 mm", "+20 mm", " 0 mm ")] == ["-20 mm", "20 mm", "-20 mm", "0 mm"]


# --- interconnects that lead from an outlet to the feed


def leading(*lines: tuple[str, str, str, str], **parts: Any) -> list[tuple[str, str, str, str]]:
    """The lines, as kind, name, from and to, after those that lead on are made feed lines."""
    given = tuple(Line.model_construct(kind=kind, name=name, from_port=a, to_port=b, path_m=((1.0, 0.0, 0.0), (2.0, 0.0, 0.0)))
                  for kind, name, a, b in lines)  # fmt: skip
    tanks = (Made(name="left", outlet=(Made(name="out"),)), Made(name="right", outlet=(Made(name="out"),)))
    design: Any = Made(
        tank=tanks, line=given, component=tuple(kind.model_construct(name=name) for name, kind in parts.items())
    )
    design.model_copy = lambda update: Made(**(vars(design) | update))
    made, words = leading_on(design)
    found = [one for one in made.line if one not in given]
    assert ", ".join(one.name for one in found) == (words[0].split(": ")[1].rstrip(".") if words else "")
    for one in found:
        before = next(line for line in given if line.name == one.name)
        assert one.path_m == (before.path_m if one.from_port == before.from_port else before.path_m[::-1])
    return [(one.kind, one.name, one.from_port, one.to_port) for one in found]


FEED = ("feed", "f", "tee", "engine")
IN = "interconnect"


@pytest.mark.parametrize(
    ("lines", "parts", "told"),
    [
        ([(IN, "a", "left.out", "tee"), FEED], {"tee": Tee}, [("feed", "a", "left.out", "tee")]),
        ([(IN, "a", "tee", "left.out"), FEED], {"tee": Tee}, [("feed", "a", "left.out", "tee")]),
        # By a valve or a filter; past a selector or a pump it is left as it is.
        ([(IN, "a", "left.out", "v"), (IN, "b", "v", "tee"), FEED], {"tee": Tee, "v": Valve}, [("feed", "a", "left.out", "v"), ("feed",
         "b", "v", "tee")]),
        ([(IN, "a", "left.out", "v"), (IN, "b", "tee", "v"), FEED], {"tee": Tee, "v": Filter}, [("feed", "a", "left.out", "v"), ("feed",
         "b", "v", "tee")]),
        ([(IN, "a", "left.out", "v"), (IN, "b", "v", "tee"), FEED], {"tee": Tee, "v": Selector}, []),
        ([(IN, "a", "left.out", "v"), (IN, "b", "v", "tee"), FEED], {"tee": Tee, "v": Pump}, []),
        ([(IN, "a", "left.out", "engine")], {"engine": Engine}, [("feed", "a", "left.out", "engine")]),
        # An engine passes nothing on to what lies behind it.
        ([(IN, "a", "left.out", "v"), (IN, "b", "v", "engine")], {"v": Valve, "engine": Engine}, []),
        ([(IN, "a", "left.out", "right.out")], {"tee": Tee}, []), ([(IN, "a", "left.out", "tee")], {"tee": Tee}, []),
        ([(IN, "a", "left.port", "tee"), FEED], {"tee": Tee}, []), ([("vent", "a", "left.out", "tee"), FEED], {"tee": Tee}, []),
        # Two ends as far from the feed: nothing says which way fuel goes.
        ([(IN, "a", "left.out", "t1"), (IN, "b", "t1", "t2"), ("feed", "f", "t1", "engine"), ("feed", "g", "t2", "engine")], {"t1": Tee,
         "t2": Tee},
         [("feed", "a", "left.out", "t1")]),
        ([(IN, "a", "left.out", "t3"), (IN, "b", "t3", "t2"), (IN, "c", "t2", "t1"), ("feed", "f", "t1", "engine")], {"t1": Tee,
         "t2": Tee, "t3": Tee},
         [("feed", "a", "left.out", "t3"), ("feed", "b", "t3", "t2"), ("feed", "c", "t2", "t1")]),
    ],
)  # fmt: skip
def test_interconnects_that_lead_to_the_feed(lines: Any, parts: Any, told: Any) -> None:
    assert leading(*lines, **parts) == told
