"""Puts switches or a fill test into a design file's text: all else stays as it was written, comments included, and that is proved."""

from __future__ import annotations

import io
import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from fuelsys.errors import QuestionError
from fuelsys.load import bounds
from fuelsys.load.formats.files import contents, label
from fuelsys.model.stated.fittings import Measured

Entry = Mapping[str, str | list[str] | dict[str, str]]  # a switch's fields as the file has them
_HEADER = re.compile(r"\s*\[\[?\s*([^\]]*?)\s*\]\]?\s*(#.*)?$")
_IDLE = re.compile(r"\s*(#.*)?$")


def design_text(path: Path) -> str:
    """A design file's text as it stands, a mark of UTF-8 included; MeshError where it cannot be read."""
    return contents(path, "Give a design file.", bounds.MOST_DESIGN_BYTES).decode("utf-8")


def with_switches(text: str, tank: str, entries: Sequence[Entry], file: str, *, replace: bool) -> str:
    """The text with [[tank.switch]] entries for a tank; one of a name that is there is changed in its place.

    QuestionError where such a switch is there and replace is not asked for, and where the text is laid out so that it cannot
    be done without touching anything else.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    lines = io.StringIO(text, newline="").readlines()  # no other character than a newline ends a line of TOML
    first, last = _section(lines, tank, file)
    before = tomllib.loads(text)
    there = [one.get("name") for one in _of(before, tank, file).get("switch", [])]
    twice = [str(entry["name"]) for entry in entries if entry["name"] in there]
    if twice and not replace:
        raise QuestionError(
            f"it has switches of these names already: {', '.join(twice)}",
            mend="Say --replace to move them.",
            file=file,
            field=f"tank {tank}",
        )
    newline = "\r\n" if lines[first].endswith("\r\n") else "\n"
    new = [entry for entry in entries if entry["name"] not in there]
    added = "".join(newline + newline.join(["[[tank.switch]]", *_written(entry)]) + newline for entry in new)
    end = _end_of(lines, first, last)
    if not lines[end - 1].endswith("\n"):
        lines[end - 1] += newline
    lines.insert(end, added)
    for entry in entries:
        if entry["name"] in there:
            _change(lines, first, end, entry, newline)
    changed = "".join(lines)
    _prove(before, changed, tank, entries, file)
    return mark + changed


def with_test(path: Path, tank: str, told: Measured) -> str:
    """The text of a design file with a tank's [tank.measured], in place of the one that it had.

    QuestionError where the text is laid out so that it cannot be done without touching anything else.
    """
    text, file = design_text(path), label(path)
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    lines = io.StringIO(text, newline="").readlines()
    first, last = _section(lines, tank, file)
    newline = "\r\n" if lines[first].endswith("\r\n") else "\n"
    fields = {key: value for key, value in told.model_dump().items() if value}
    table = ["[tank.measured]", *(f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in fields.items())]
    added = newline.join(table) + newline
    heads = [k for k in range(first, last) if _HEADER.match(lines[k])]
    old = next(
        (k for k in heads if (found := _HEADER.match(lines[k])) and re.fullmatch(r"tank\s*\.\s*measured", found[1])),
        None,
    )
    if old is None:
        end = _end_of(lines, first, last)
        if not lines[end - 1].endswith("\n"):
            lines[end - 1] += newline
        lines.insert(end, newline + added)
    else:
        end = next(
            (k for k in range(old + 1, last) if not re.match(r"[ \t]*(sheet|sha256|date|at)[ \t]*=", lines[k])), last
        )
        lines[old:end] = [added]
    changed, before = "".join(lines), tomllib.loads(text)
    wanted = next((one for one in before["tank"] if one.get("name") == tank), None)
    if wanted is not None:
        wanted["measured"] = fields
    _check_same(changed, before, file, tank, "the fill test", "[tank.measured]")
    return mark + changed


def _of(tables: Mapping[str, Any], tank: str, file: str) -> dict[str, Any]:
    """A tank's table; one that is a twin without a switch of its own has no place for one."""
    found: dict[str, Any] = next(one for one in tables["tank"] if one.get("name") == tank)
    twin = found.get("mirror_of")
    if twin is not None and found.get("switch") is None:
        raise QuestionError(
            f"it is the mirror image of {twin}", mend=f"Place the switches in {twin}.", file=file, field=f"tank {tank}"
        )
    return found


def _section(lines: Sequence[str], tank: str, file: str) -> tuple[int, int]:
    """From a tank's [[tank]] line to the next header that is none of its own."""
    heads = [(k, found[1]) for k, line in enumerate(lines) if (found := _HEADER.match(line))]
    starts = [k for k, name in heads if name == "tank"]
    for start in starts:
        end = next((k for k, name in heads if k > start and not name.startswith("tank.")), len(lines))
        try:
            if tomllib.loads("".join(lines[start:end]))["tank"][0].get("name") == tank:
                return start, end
        except tomllib.TOMLDecodeError:
            continue
    raise QuestionError(
        "its [[tank]] table cannot be told apart in the file",
        mend="Write it as [[tank]] with a line for each field.",
        file=file,
        field=f"tank {tank}",
    )


def _end_of(lines: Sequence[str], first: int, last: int) -> int:
    """Behind the last line of a section that says something: what follows belongs to what comes next."""
    end = last
    while end > first + 1 and _IDLE.match(lines[end - 1]):
        end -= 1
    return end


def _change(lines: list[str], first: int, last: int, entry: Entry, newline: str) -> None:
    """Give a switch's fields new values in their lines; fields that it lacked follow its name."""
    heads = [k for k in range(first, last) if _HEADER.match(lines[k])] + [last]
    for start, end in zip(heads[:-1], heads[1:], strict=True):
        name = re.compile(rf"\s*name\s*=\s*[\"']{re.escape(str(entry['name']))}[\"']")
        at = next((k for k in range(start + 1, end) if name.match(lines[k])), None)
        if at is None or "switch" not in lines[start]:
            continue
        missing = list[str]()
        for field, line in zip(entry, _written(entry), strict=True):
            own = next((k for k in range(start + 1, end) if re.match(rf"\s*{field}\s*=", lines[k])), None)
            if own is None:
                missing.append(line + newline)
            elif field != "name":
                remark = re.search(r"\s*#.*", lines[own].rstrip())
                lines[own] = line + (remark[0] if remark else "") + newline
        lines[at] += "".join(missing)
        return


def _written(entry: Entry) -> list[str]:
    def value(given: str | list[str] | dict[str, str]) -> str:
        if isinstance(given, dict):
            return "{ " + ", ".join(f'{key} = "{one}"' for key, one in given.items()) + " }"
        return f'"{given}"' if isinstance(given, str) else "[" + ", ".join(f'"{one}"' for one in given) + "]"

    return [f"{field} = {value(given)}" for field, given in entry.items()]


def _prove(before: dict[str, Any], changed: str, tank: str, entries: Sequence[Entry], file: str) -> None:
    """The text reads as before with these switches, and nothing else has changed; QuestionError where not."""
    kept = _of(before, tank, file).setdefault("switch", [])
    for entry in entries:
        same = next((one for one in kept if one.get("name") == entry["name"]), None)
        if same is None:
            kept.append(dict(entry))
        else:
            same.update(entry)
    _check_same(changed, before, file, tank, "switches", "each [[tank.switch]]")


def _check_same(changed: str, wanted: dict[str, Any], file: str, tank: str, what: str, table: str) -> None:
    """Refuse a text that does not read as it was meant, all of it."""
    try:
        right = tomllib.loads(changed) == wanted
    except tomllib.TOMLDecodeError:
        right = False
    if not right:
        raise QuestionError(
            f"{what} cannot be written into a file that is laid out like this",
            mend=f"Write {table} as a table of its own, a field a line, or type the figures in by hand.",
            file=file,
            field=f"tank {tank}",
        )
