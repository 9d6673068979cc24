"""Warming: does the fuel of a tank that was filled cold to the brim outgrow the room that it finds on a hot day."""

from __future__ import annotations

from fuelsys.analysis.tank.growth import covers, growth_share, rise_that_fills_k
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.capacity import Capacity, Warming

# Filled from a cold underground tank, then soaked in the sun: common practice, no source.
FILLED_AT_K, SOAKED_TO_K = 278.15, 313.15  # 5 °C and 40 °C


def warming(layout: Layout, tank: FittedTank, held: Capacity) -> Warming | None:
    """Growth and room of a tank filled at the normal ground attitude; None without a filler or a vent, or beyond the
    densities of the volume correction.

    The filler is shut after the filling, so the room ends where the last vent drowns or fuel runs out of one. The design's
    density is taken for that at 15 °C; the tank's own growth is left out.
    """
    density_kg_m3 = layout.design.fuel.density_kg_m3
    brim, room = held.filled, held.room_m3
    if tank.design.filler is None or not tank.design.vent or brim is None or room is None or not covers(density_kg_m3):
        return None
    share = growth_share(density_kg_m3, FILLED_AT_K, SOAKED_TO_K)
    # A filler so low that nothing can be filled leaves nothing to grow.
    rise_k = rise_that_fills_k(density_kg_m3, FILLED_AT_K, room / brim.volume_m3) if brim.volume_m3 > 0.0 else None
    return Warming(FILLED_AT_K, SOAKED_TO_K, brim.volume_m3, share, room, rise_k)
