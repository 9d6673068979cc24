"""All rules, listed by hand: the order in which the manual and the findings show them."""

from __future__ import annotations

from fuelsys.model.findings import Rule
from fuelsys.rules import capacity, warming

ALL: tuple[Rule, ...] = (capacity.expansion_space_small, warming.expansion_space_used_by_warming)
