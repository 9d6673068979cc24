"""All rules, listed by hand: the order in which the manual and the findings show them."""

from __future__ import annotations

from fuelsys.model.findings import Rule
from fuelsys.rules import capacity, dipstick, filler, low_level, outlet, sump, unusable, warming

ALL: tuple[Rule, ...] = (
    capacity.expansion_space_small,
    warming.expansion_space_used_by_warming,
    capacity.endurance_below_half_hour,
    outlet.outlet_missing,
    outlet.strainer_missing,
    outlet.strainer_mesh_out_of_range,
    outlet.strainer_area_small,
    outlet.strainer_narrower_than_outlet,
    unusable.unusable_large,
    unusable.fuel_trapped_in_pocket,
    unusable.envelope_misses_steep_climb,
    unusable.envelope_narrow,
    sump.drain_missing,
    sump.sump_small,
    sump.water_left_behind,
    sump.water_left_on_slope,
    filler.filler_wrong_size,
    filler.filler_unbonded,
    filler.filler_unmarked,
    dipstick.dipstick_missing,
    dipstick.dipstick_blind,
    low_level.warning_missing,
    low_level.warning_never_trips,
    low_level.warning_late,
    low_level.warning_below_ten_minutes,
    low_level.warnings_out_of_order,
    low_level.warning_spread_wide,
    low_level.warning_tolerance_unknown,
)
