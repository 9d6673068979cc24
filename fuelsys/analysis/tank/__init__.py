"""One tank, filled, tilted and drained: what it holds, keeps, warns of and shows.

From full, walk down the tree. At a saddle the branch without an outlet is cut off, full to the saddle. A pool drains to the
lowest outlet in it. Where two branches both have outlets they drain on their own; what one holds when a mark in the other
trips is not determined, so `Drained.passed` has two states: all other pools drained (the least, used for "latest") and not
begun to fall (the most). A mark in a pool that is cut off above it, or below what the outlets reach, **never trips**: None,
with a reason, not a number.

Where fuel runs on from an outlet by gravity alone (feed lines to the next tank or the engine, no pump on the way:
`Layout.with_ways`), the surface stops falling at the highest point of the lowest way, if that stands above the outlet and its
cover (`Opening.over_m`). A primed line may siphon over it; that is not relied upon, and a warning says so.

Filling is the mirror image with one thing more: each airspace empties through its openings until the last one drowns, but all
airspaces stop at the level at which fuel first runs out somewhere (the filler's lip; a vent line's highest point, or the
vent's own opening where no line is drawn).

Unusable fuel computed so is an upper bound at a steady attitude: fuel that was trapped may come back as the aircraft moves. Where an
attitude is held for a time, `analysis/tank/held.py` counts what already lay over the outlet; `kernels/meeting.py` cuts two
pools with each other.
"""
