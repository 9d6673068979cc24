"""Design files of faults, keys, values, tanks and fittings without end: counted, or refused before each is judged."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from commands import run
from spoilt import GOOD, told

from fuelsys.load import bounds
from fuelsys.load.designs import crosscheck, faults
from fuelsys.load.designs import stated as design

DRAIN = '\n[[tank.drain]]\nname = "drain {k}"\nposition = ["150 mm", "100 mm", "0 mm"]\n'


def with_drains(number: int) -> str:
    """The good design with so many drains in its first tank."""
    before, tank, after = GOOD.partition('\n[[tank]]\nname = "right"')
    return before + "".join(DRAIN.format(k=k) for k in range(number)) + tank + after


def counted(monkeypatch: pytest.MonkeyPatch, room: Any) -> list[str]:
    """What is looked up from now on among the known names."""
    asked: list[str] = []
    given = room.meant

    def looked_up(found: str, known: Any) -> str:
        asked.append(found)
        return str(given(found, known))

    monkeypatch.setattr(room, "meant", looked_up)
    return asked


def test_faults_beyond_a_number_are_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = counted(monkeypatch, faults)
    lines = told(tmp_path, "".join(f"[[tank]]\nfoo = {k}\n" for k in range(2000)))
    assert len(lines) == bounds.MOST_TOLD + 1
    assert lines[0].startswith("wing.toml: tank[1].foo: there is no such field.")
    # Each tank lacks five fields and has one too many; aircraft, fuel, flows and attitude are missing.
    assert lines[-1] == f"wing.toml: and {2000 * 6 + 4 - 50:,} more faults. Mend those above, then ask again."
    assert 0 < len(asked) <= bounds.MOST_TOLD


def test_as_many_faults_as_are_told_are_all_told(tmp_path: Path) -> None:
    blanks = "".join(f'blank{k} = "FILL IN"\n' for k in range(bounds.MOST_TOLD))
    lines = told(tmp_path, blanks + GOOD)
    assert lines == [f"wing.toml: blank{k}: still to be filled in. Give it." for k in range(50)]


def test_blanks_are_told_in_the_files_order_and_counted(tmp_path: Path) -> None:
    lines = told(tmp_path, "".join(f'blank{k} = "FILL IN"\n' for k in range(1234)) + GOOD)
    assert lines[49:] == [
        "wing.toml: blank49: still to be filled in. Give it.",
        "wing.toml: and 1,184 more faults. Mend those above, then ask again.",
    ]


def test_ends_of_lines_that_are_nowhere_are_not_each_compared_with_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = counted(monkeypatch, crosscheck)
    line = '[[line]]\nname = "l{k}"\nkind = "vent"\nfrom = "nowhere"\nto = "filter"\nbore = "8 mm"\n'
    lines = told(tmp_path, with_drains(100) + "".join(line.format(k=k) for k in range(300)))
    assert len(lines) == bounds.MOST_TOLD + 1
    assert len(asked) == bounds.MOST_TOLD
    assert "left.drain 16, and 85 more." in lines[0]  # of the left tank's 103 places, the right's and the filter
    assert lines[-1] == "wing.toml: and 250 more faults. Mend those above, then ask again."


@pytest.mark.parametrize(
    "key",
    [
        ".".join("a" * 100_000) + " = 1",
        "[" + ".".join("a" * 100_000) + "]",
        "[[" + " . ".join("a" * 1500) + "]]",
        "x = { " + ".".join("a" * 17) + " = 1 }",
        ".".join(['"a b"', "'c.d'"] * 9) + " = 1",
    ],
    ids=["key", "table", "list of tables", "inline", "in quotes"],
)
def test_a_key_of_parts_without_end_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    monkeypatch.setattr(design.tomllib, "loads", lambda _: pytest.fail("it was read"))
    (line,) = told(tmp_path, f"{GOOD}\n{key}\n")
    where = f"wing.toml: line {GOOD.count(chr(10)) + 2}: a key has more than 16 parts, "
    assert line.startswith(where)
    assert line.endswith("No table of a design file is so deep: take it out.")
    assert len(line) < 300


@pytest.mark.parametrize("text", ["1." * 40, "see 3.2.1 ... ... ...", "a. b. " * 20, '\\".\\".' * 40])
def test_dots_elsewhere_are_no_parts_of_a_key(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, GOOD.replace("firewall", text)) == []
    points = ", ".join('["400.5 mm", "-560.5 mm", "800.5 mm"]' for _ in range(200))
    assert told(tmp_path, GOOD.replace('["400 mm", "-560 mm", "800 mm"]', points)) == []


@pytest.mark.parametrize("text", ['"""\n{0}\\\n"""', "'''\n{0}'''", "'x'  # {0}"])
def test_dots_in_comments_and_texts_of_many_lines_are_no_key(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, GOOD.replace('"firewall"', text.format(".".join("a" * 40)))) == []


def test_a_key_that_is_only_deep_is_told_as_what_it_is(tmp_path: Path) -> None:
    (line,) = told(tmp_path, GOOD + "\n[" + ".".join("a" * 16) + "]\n")
    assert line.startswith("wing.toml: a: there is no such field.")


def test_values_without_end_are_not_judged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(design, "read_fields", lambda _: pytest.fail("they were judged"))
    text = GOOD + "\nx = [" + "1, " * bounds.MOST_VALUES + "]\n"
    mend = "No fuel system has so many: take out what stands in it again and again."
    assert told(tmp_path, text) == [f"wing.toml: it states more than 300,000 values. {mend}"]


def test_more_tanks_bodies_or_cases_than_any_light_aircraft_has(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tank = '[[tank]]\nname = "t{k}"\nmesh = "no.off"\nunit = "mm"\naxes = "aft, right, up"\n'
    tank += 'position = ["0 mm", "0 mm", "0 mm"]\n'
    many = GOOD + "".join(tank.format(k=k) for k in range(1000))
    assert told(tmp_path, many) == ["wing.toml: tank: there are 1,002 tanks. Give at most 100."]
    inside = "".join(f'\n[[tank.inside]]\nname = "b{k}"\nmesh = "no.off"\n' for k in range(301))
    (line,) = told(tmp_path, GOOD.partition('\n[[tank]]\nname = "right"')[0] + inside)
    assert line.startswith("wing.toml: tank left.inside: there are 301 bodies. Give at most 300: ")
    cases = 3 * (20_000 + 7)  # attitudes times tanks and fittings
    assert cases > bounds.MOST_CASES
    (line,) = told(tmp_path, with_drains(20_000))
    assert line.startswith("wing.toml: attitude: 3 attitudes times 20,007 tanks and fittings are too many. ")
    monkeypatch.setattr(bounds, "MOST_CASES", 3 * 107)
    assert told(tmp_path, with_drains(100)) == []


def test_a_file_of_faults_ends_with_exit_code_two(tmp_path: Path) -> None:
    (tmp_path / "wing.toml").write_text("".join(f"[[tank]]\nfoo = {k}\n" for k in range(20_000)))
    ran = run("check", "wing.toml", folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert len(ran.stderr.splitlines()) == bounds.MOST_TOLD + 1
