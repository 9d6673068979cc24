"""All rules, listed by hand: the order in which the manual and the findings show them."""

from __future__ import annotations

from fuelsys.model.findings import Rule
from fuelsys.rules import capacity

ALL: tuple[Rule, ...] = (capacity.expansion_space_small,)
