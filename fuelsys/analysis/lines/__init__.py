"""The lines and what flows, stands or breathes in them.

`kernels/steady.py`: each edge takes from the potential what its law says of its flow, and more the more flows. Flows that balance
and agree with all laws are then where a convex function is least (the sum of each edge's integral of its loss, less what the
fixed potentials give), so there is one answer, and Newton's steps with a search along each reach it from anywhere. Potentials are
pressures with their head, p + density x apparent gravity x level. `analysis/lines/flow.py` makes edges of feed and interconnect lines;
`analysis/lines/hydraulics.py` has the laws: Hagen and Poiseuille to Re 2000, Colebrook (`fluids`) from 2300, a straight line between,
which is the safe side of what nobody knows there; fittings by Crane and Rennels. A component's loss is split between the lines
that meet at it, half to each, so no node has a loss and the way a line is drawn does not matter. A tee counts as its branch for
every passage. What is not stated and has no standard value (a filter's drop) counts as nothing and makes the rule answer "needs".

Checked against an independent solver on 240 random networks with its own friction law written out (tests/kernels/test_flow_network.py):
potentials and flows to 1e-6 of the largest; what was seen is 4e-10. Its rounded constants (g = 32.2 ft/s2, 0.02517) are in the
test, and flows are compared in its own units, because its factors for others have five digits. 100 states of the example take
0.09 s, about 1 ms each.

What is asked of it (`analysis/lines/solving.py`, gathered in `feeding.py`, empty lines in `dry.py`): each tank alone, and those that no
selector parts together, surfaces where the outlets begin to take air, strainers and filters half blocked, cold fuel. The same in every
setting of selectors and valves, with each pump and all, at every stated flow (`states.py`, `statewise.py`; networks that differ in dead
ends only are solved once; at most 256 settings and 600 networks, the rest is told), vapour too. What stands in vent lines has
settings of its own (`airing.py`): who breathes, who shares air, and the pressure in each (`breathing.py`, `overfilling.py`).
**Alone is not always the worst**: a lower tank
beside takes fuel from a higher one through a tee. A header is filled against its own surface: what comes with the surface under
the inlet decides
whether it runs empty, what comes when it is full decides whether it stays full.

A dry branch: when an outlet is bare, its line keeps a column whose top stands where the junction's pressure holds it (no flow, so
no loss). Air gets past when that level is below the lowest point between outlet and junction. So a tee far below the tanks lives
with an empty tank and one at a pump's inlet does not; no rule of thumb decides. Of two outlets in one tank the
first that lets air past ends both (`FittedTank.ends`, at any flight attitude; not known counts as yes): each is drained alone and the
most that is left is taken (`Drained.of`), which the explorer leaves out.

Unusable fuel by flow: the friction of a given flow does not depend on the attitude, so a way by gravity asks for a surface so much
above its end: (pressure needed + loss) / (density x g0), whatever the tilt (`Opening.heights_m`, made by `analysis/lines/demand.py`). It
is taken at the greatest stated flow with the outlet alone, strainers clean; where apparent gravity is stronger than g0 this
asks for more than is needed. Where gravity feeds the engine, pumps on the way count as standing still and letting fuel pass:
what 14 CFR 23.959(b) asks with the pump failed is then what is shown. Cover that is not stated is the critical submergence of
pump intakes (S/D = 1 + 2.3 Fr, ANSI/HI 9.8): far on the safe side for a small outlet (a draw-down without whirl would be a third or
less), which is why its cost is told beside it and a drain test is asked for. `phases.py` has both parts at each
stated flow, by gravity and with each pump alone; the figure that counts is the one at the greatest flow.
"""
