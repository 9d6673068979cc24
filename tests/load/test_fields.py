"""Every field of the design file is read somewhere: one that changes no answer would be a promise that nobody keeps."""

from __future__ import annotations

import ast
from pathlib import Path

from pydantic import BaseModel

import fuelsys
from fuelsys.model.stated import components, design, fittings, gauges, records

ROOM = Path(fuelsys.__file__ or "").parent


def names_read() -> set[str]:
    """Every attribute that the package's code reads, by its name."""
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in ROOM.rglob("*.py")]
    nodes = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Attribute)]
    return {node.attr for node in nodes if isinstance(node.ctx, ast.Load)}


def test_no_field_is_left_unread() -> None:
    kinds = [
        kind
        for module in (components, design, fittings, gauges, records)
        for kind in vars(module).values()
        if isinstance(kind, type)
    ]
    fields = {(kind.__name__, name) for kind in kinds if issubclass(kind, BaseModel) for name in kind.model_fields}
    assert len(fields) > 100
    read = names_read()
    assert sorted(field for field in fields if field[1] not in read) == []
