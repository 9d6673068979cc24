"""Faults of a design file: where in its tables, in the words of a person, in the file's order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fuelsys.errors import DesignError, FuelsysError, meant
from fuelsys.load import bounds
from fuelsys.model.stated.components import AnyComponent
from fuelsys.model.stated.design import Design
from fuelsys.model.stated.gauges import AnyGauge
from fuelsys.model.stated.records import Record, file_key
from fuelsys.units import shown

Place = tuple[str | int, ...]  # keys and positions from zero, from the file's top
BLANK = "FILL IN"

# What the records' library calls a fault -> what was found, what to do. {given} is what stands in the file.
_WORDS = {
    "missing": ("missing", "Add it; `fuelsys new MESH` shows every field with an example."),
    "extra_forbidden": ("there is no such field", "{unknown}"),
    "literal_error": ("found {given}", "Write {expected}."),
    "string_type": ("found {given}", "Write a text in quotes."),
    "string_too_short": ("found an empty text", "Fill it in."),
    "string_pattern_mismatch": ("found {given}", "Give a name without a dot that does not begin with a blank."),
    "bool_type": ("found {given}", "Write true or false, without quotes."),
    "union_tag_invalid": ("found {given}", "Write {expected}."),
    "union_tag_not_found": ("missing", "Add it; `fuelsys new MESH` shows every field with an example."),
    "model_attributes_type": ("found {given}", "Write it as a table, [{table}]."),
    "dict_type": ("found {given}", "Write it as a table, [{table}]."),
    "model_type": ("found {given}", "Write it as a table, [{table}]."),
    "tuple_type": ("found {given}", "Write it as a list; a list of tables has double brackets, [[{table}]]."),
    "too_short": ("there is none", "Give at least one."),
}
_OTHERWISE = ("found {given}, which cannot stand here", "`fuelsys new MESH` shows every field with an example.")


# The lists whose items are of several kinds: each kind's record, and the kinds that have each of their own fields.
UNIONS: dict[str, dict[str, type[Record]]] = {
    key: {get_args(k.model_fields["kind"].annotation)[0]: k for k in get_args(get_args(union)[0])}
    for key, union in (("component", AnyComponent), ("gauge", AnyGauge))
}
KINDS_OF = {
    key: {
        file_key(name): [kind for kind, record in kinds.items() if name in record.model_fields]
        for of in kinds.values()
        for name in of.model_fields
    }
    for key, kinds in UNIONS.items()
}


def alternatives(words: Iterable[str]) -> str:
    """Words that may stand for one another.

    >>> alternatives(["a", "b", "c"])
    'a, b or c'
    """
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


@dataclass(frozen=True)
class Fault:
    """One fault of a design; mesh names the file at fault where that is a tank's mesh.

    error is what the records' library says of a field, which is put into words when it is told.
    """

    place: Place
    found: str = ""
    mend: str = ""
    mesh: str = ""
    error: ErrorDetails | None = None


def design_error(faults: Iterable[Fault], tables: dict[str, Any], file: str) -> DesignError:
    """All faults as one error, in the order in which their places stand in the file; beyond a number they are counted only."""
    positions: dict[int, dict[Any, int]] = {}
    ordered = sorted(faults, key=lambda fault: _order(fault.place, tables, positions))
    told = [_told(fault, tables, file) for fault in ordered[: bounds.MOST_TOLD]]
    if len(ordered) > len(told):
        found = f"and {len(ordered) - len(told):,} more faults"
        told.append(FuelsysError(found, mend="Mend those above, then ask again.", file=file))
    return DesignError(told)


def _told(fault: Fault, tables: dict[str, Any], file: str) -> FuelsysError:
    fault = _explained(fault.error, fault.place) if fault.error else fault
    if fault.mesh:
        return FuelsysError(fault.found, mend=fault.mend, file=fault.mesh)
    return FuelsysError(fault.found, mend=fault.mend, file=file, field=field(fault.place, tables))


def _order(place: Place, tables: Any, positions: dict[int, dict[Any, int]]) -> tuple[int, ...]:
    """Positions along the way; what is missing comes after all that is there. positions keeps those of each table seen."""
    order = []
    for part in place:
        keys: Any = range(len(tables)) if isinstance(tables, list) else ()
        if isinstance(tables, dict):
            if id(tables) not in positions:
                positions[id(tables)] = {key: k for k, key in enumerate(tables)}
            keys = positions[id(tables)]
        known = part in keys
        order.append(keys[part] if known else len(keys))
        tables = tables[part] if known else None
    return tuple(order)


def field(place: Place, tables: Any) -> str:
    """A place in words: list items by their name where one has it alone, else counted from one.

    >>> field(("tank", 0, "outlet", 1, "bore"), {"tank": [{"name": "left", "outlet": [{"name": "a"}, {"bore": 3}]}]})
    'tank left.outlet[2].bore'
    """
    text = ""
    for i, part in enumerate(place):
        if isinstance(part, int):
            text += _item(tables, part, place[i - 1])
        else:
            text += f".{shown(part)[1:-1]}" if text else shown(part)[1:-1]
        try:
            tables = tables[part]
        except (KeyError, IndexError, TypeError):
            tables = None
    return text


def _item(items: Any, position: int, key: str | int) -> str:
    """One of a list's items; an outlet that is the only one and bears no other name needs no more."""
    names = [item.get("name") if isinstance(item, dict) else None for item in items] if isinstance(items, list) else []
    name = names[position] if position < len(names) else None
    if names == [key]:
        return ""
    if isinstance(name, str) and name.strip() and not _is_blank(name) and names.count(name) == 1:
        return f" {shown(name)[1:-1]}"
    return f"[{position + 1}]"


# --- blanks ----------------------------------------------------------------------------------------------------------


def _is_blank(value: object) -> bool:
    return isinstance(value, str) and value.lstrip().startswith(BLANK)


def blanks(value: Any, place: Place = ()) -> Iterator[Fault]:
    """Every field that still says FILL IN, as `fuelsys new` writes it."""
    if _is_blank(value):
        wanted = value.lstrip().removeprefix(BLANK).lstrip(": ").rstrip(". ")
        yield Fault(place, "still to be filled in", f"Give {wanted}." if wanted else "Give it.")
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from blanks(inner, (*place, key))


# --- fields ----------------------------------------------------------------------------------------------------------


def read_fields(tables: dict[str, Any]) -> tuple[Design | None, list[Fault]]:
    """The design that the tables state, or None and what is wrong with their fields; blanks are faults in any case."""
    faults = list(blanks(tables))
    try:
        return Design.model_validate(tables, by_alias=True, by_name=False), faults
    except ValidationError as invalid:
        return None, [*faults, *_fields(invalid.errors(include_url=False), {fault.place for fault in faults})]


def _fields(errors: list[ErrorDetails], known: set[Place]) -> Iterator[Fault]:
    """The faults of single fields, without those whose place is known to be at fault or that follow from another's."""
    places = [_place(error) for error in errors]
    around = {place[:k] for place in places for k in range(len(place))}
    for error, place in zip(errors, places, strict=True):
        follows = error["type"] == "too_short" and place in around
        if not follows and not any(place[: k + 1] in known for k in range(len(place))):
            yield Fault(place, error=error)


def _union(error: ErrorDetails) -> tuple[str, int]:
    """The list of several kinds that an error lies in, and where in its place the item's kind would stand."""
    loc = error["loc"]
    at = 2 if loc[:1] == ("component",) else 4 if loc[:1] == ("tank",) and loc[2:3] == ("gauge",) else 0
    return (str(loc[at - 2]), at) if at else ("", 0)


def _place(error: ErrorDetails) -> Place:
    """Where a fault is. Of a list of several kinds it bears the item's kind too, which is no key; a fault of the kind is one of
    its field."""
    place = error["loc"]
    if error["type"].startswith("union_tag"):
        return (*place, "kind")
    _, at = _union(error)
    return place[:at] + place[at + 1 :] if at else place


def _explained(error: ErrorDetails, place: Place) -> Fault:
    context = error.get("ctx", {})
    if error["type"] == "own_words":
        return Fault(place, context["found"], context["mend"])
    of, at = _union(error)
    if error["type"] == "extra_forbidden" and len(error["loc"]) > len(place) and place[-1] in KINDS_OF[of]:
        kinds = alternatives(f'"{kind}"' for kind in KINDS_OF[of][str(place[-1])])
        found = f'a {of} of kind "{error["loc"][at]}" has none'
        return Fault(place, found, f"Take it out; it belongs to kind {kinds}.")
    found, mend = _WORDS.get(error["type"], _OTHERWISE)
    given = error["input"].get("kind") if error["type"] == "union_tag_invalid" else error["input"]
    words = {
        "given": shown(given),
        "table": ".".join(str(part) for part in place if isinstance(part, str)),
        "unknown": _unknown(place),
        "expected": str(context.get("expected", "")).replace("'", '"')
        or (alternatives(f'"{kind}"' for kind in UNIONS[of]) if of else ""),
    }
    return Fault(place, found.format(**words), mend.format(**words))


def _unknown(place: Place) -> str:
    near = meant(str(place[-1]), _keys(Design))
    return f"{near}Check its spelling and the table that it stands in, or take it out."


def _keys(record: type[Record]) -> list[str]:
    """All keys that a design file may have, at any depth."""
    keys = []
    for name, info in record.model_fields.items():
        keys.append(file_key(name))
        keys += [key for inner in _records(info.annotation) for key in _keys(inner)]
    return keys


def _records(annotation: Any) -> Iterator[type[Record]]:
    if isinstance(annotation, type) and issubclass(annotation, Record):
        yield annotation
    for inner in get_args(annotation):
        yield from _records(inner)
