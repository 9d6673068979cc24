"""A flight flown through the solved lines, and what goes wrong on it.

`analysis/flights/fly.py` carries the tanks' quantities from event to event (`events.py`; `fuelsys fly`); `kernels/stepping.py`
takes the steps (linearly implicit: shut-in air and short fat lines are stiff). `standing.py` is quantity against level, one level a
tank, exact at its knots and within 5 µm between; every threshold (lamp, outlet, full) is a volume and exact, and a mark without a
stated tolerance has a new switch's (`tolerances.py`). `plumbed.py` solves the lines for
surfaces that differ; ports under one surface are one node, a port above it only takes fuel in. In `legs.py` a tank is free, full
(its quantity stays, its pressure is found: so a header is fed at the solved flow), running over, or passing on what comes in (its
surface stays at a lip); a full one on which nothing presses is judged by what comes and goes, and what runs in above the surface
of one that is pressed on counts against the same pressure. A mode ends when its `Gap` falls below zero. One row
of each step's Jacobian is made up from the others,
so mass is kept to rounding. `cases.py` lists what may go wrong as `Upset`s, at most 30 of them pairs by one cause; `held.py` the
attitudes that may be held, from the start and from the worst moment (`Case.late`, which a changed design moves); `failures.py` flies
each, in coarser steps; a lamp that tells nothing needs no flight of its own. `changes.py` then tries changed designs from the
cheapest on (`marks.py`, `piped.py`), pairs where none alone helps: a change counts only if the same failure, flown again, leaves ten
minutes. `check` asks for all this only with `--failures`, for it takes seconds.
"""
