"""The text of a design file to fill in: its head, a tank, its tail, a flight."""

from string import Template

HEAD = Template("""\
# A design file, begun from $file. Give every value that says FILL IN, take out the tables of what the aircraft
# does not have, and repeat those of what it has more of. Lines that begin with # are not read: take the # away to use one.
#
# Every quantity is a text with its unit: "12.5 mm", "0.5 in", "38 L", "10 US gal/h", "9 deg", "0.3 g", "20 min".
# Units of length: $length_units.
# A place is a list of x, y and z: ["120 mm", "-40 mm", "0 mm"].
# Places inside a tank are in the axes of the tank's own mesh; all others are in the aircraft's axes, from the datum.

# The units that answers are shown in; the options --length and --volume ask for others.
#[show]
#length = "in"  # mm, cm, m, in or ft; mm where this is left out
#volume = "US gal"  # L, mL, US gal, imp gal or m3; L where this is left out

[aircraft]
name = "FILL IN: the aircraft's name"
datum = "FILL IN: in words, the point that places on the aircraft are measured from"
axes = "FILL IN: where x, y and z of places on the aircraft point, such as aft, right, up"
engine = "FILL IN: piston or turbine"
feed = "FILL IN: gravity or pump, whichever brings the fuel to the engine"
#climb_angle = "9 deg"  # nose-up angle of the steepest climb
#limit_load_factor = 3.8  # the greatest load factor that is flown, a plain number; the tanks' pressure test counts 1.5 times it
#ceiling = "10000 ft"  # the highest altitude that it is to fly at
#climb_rate = "1000 ft/min"  # the greatest; the vents must let so much air out
#descent_rate = "1500 ft/min"  # the greatest; the vents must let so much air in
#lamps_own_power = true  # the lamps of its switches light without its electric power too
#firewall = ["0 mm", "0 mm", "0 mm"]  # a point of the firewall, which is taken as a plane across the fore-and-aft axis

[fuel]
kind = "FILL IN: avgas, mogas, jet or diesel"
density = "FILL IN: the fuel's density at 15 °C, such as 0.72 kg/L"
#density_range = ["0.68 kg/L", "0.76 kg/L"]  # the least and the greatest that it may have, hot and cold; moves floats
#viscosity = "1 mm2/s"  # of the coldest fuel that is to be used; without it avgas, mogas and jet fuel have one assumed
reserve_phase = "FILL IN: the name of the flow below that minutes of reserve are counted with, such as cruise"
#reid_pressure = "49 kPa"  # its vapour pressure by Reid's method; without it avgas has the limit of its standard

# What the engine burns. The rules look for takeoff, max_continuous and cruise; others may be named freely.
[flows]
takeoff = "FILL IN: the fuel flow at take-off power, such as 36 L/h"
max_continuous = "FILL IN: the fuel flow at maximum continuous power"
cruise = "FILL IN: the fuel flow in cruise"

# The envelope: every attitude that the aircraft stands in on the ground or holds in flight. One attitude of each phase is
# the normal one. Beside pitch (nose up) and roll (right wing down) an attitude may have accelerations; held = "30 s" says that
# one of flight is held no longer, turned into from the worst of the others. Without it an attitude counts as held for ever.

[[attitude]]
name = "parked"
phase = "ground"  # ground or flight
normal = true
pitch = "FILL IN: the pitch, nose up, at which the aircraft stands on level ground"
#roll = "0 deg"  # right wing down

[[attitude]]
name = "cruise"
phase = "flight"
normal = true
pitch = "FILL IN: the pitch in cruise"

[[attitude]]
name = "climb"
phase = "flight"
pitch = "FILL IN: the greatest pitch that is held in a climb"

[[attitude]]
name = "descent"
phase = "flight"
pitch = "FILL IN: the least pitch that is held in a descent; nose down is negative"

[[attitude]]
name = "slip, right wing low"
phase = "flight"
roll = "FILL IN: the steadiest steep slip, right wing down"
#held = "30 s"  # for how long at most; for ever where this is left out

[[attitude]]
name = "slip, left wing low"
phase = "flight"
roll = "FILL IN: the same to the left; left wing down is negative"

#[[attitude]]
#name = "take-off run"
#phase = "flight"
#forward = "0.3 g"  # acceleration ahead
#right = "0 g"  # acceleration to the right

""")
TANK = Template("""\
# A tank is the closed inside surface of its mesh: $volume gross as meshed.
# The mesh spans $spans.
# Its lowest corner with the aircraft level: $lowest
[[tank]]
name = $name
mesh = $mesh  # path from this file's folder
unit = $unit  # of the mesh
$body  # the one that is meant by its name or number where the mesh file holds several
$tolerance  # how far the facets that are made of a STEP file's true solid may lie off it
axes = $axes  # where x, y and z of the mesh point
position = "FILL IN: where the mesh's origin lies on the aircraft"
#wall = "1.2 mm"  # only where the mesh is the tank's outside: this is taken off it all round
#coating = "0.3 mm"  # sealant or slosh on all of the inside
#unmodelled = "1 %"  # what was not drawn and takes up room all the same: fittings, fillets, rivets
#narrowest_passage = "0.1 mm"  # fuel is not counted on to pass through a gap that is narrower
#measured_unusable = "3.1 L"  # what a drain test left in it, at the worst flight attitude
#flow_share = "50 %"  # the share of the engine's flow that this tank gives; all of it where this is left out
#in_cabin = true  # true where it stands in the cabin and could strike people if it came loose, false where it does not
#bears = "3.5 psi"  # the pressure above the air's that it was tested with; without it the least test pressure is taken
#bears_suction = "1 kPa"  # the pressure below the air's that it bears

[[tank.outlet]]
name = "outlet"
position = "FILL IN: the point of the opening that air reaches first in the mesh's axes"
bore = "FILL IN: the outlet's inside diameter"
#through = "bottom"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top
#cover = "2 mm"  # height of fuel that must stand above that point, from a drain test; without it one is assumed for the flow
#strainer = { mesh = "12 1/in", clear_area = "300 mm2", diameter = "16 mm" }  # wires per length, open area, diameter

[[tank.vent]]
name = "vent"
position = "FILL IN: the vent's opening in the tank in the mesh's axes"
bore = "FILL IN: the vent's inside diameter"
#through = "top"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top

[tank.filler]
#name = "filler"  # its name in messages
position = "FILL IN: the lip at which fuel spills in the mesh's axes"
#bore = "58 mm"  # inside diameter of the neck
#bonded = true  # true where it is bonded to the airframe
#placard = "Avgas 100LL"  # what the placard beside it says
#filling = "40 L/min"  # the greatest flow that the tank is filled with
#through = "top"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top

[[tank.drain]]
name = "drain"
position = "FILL IN: the drain valve's seat in the mesh's axes; see the lowest corner above"
#bore = "6 mm"
#through = "bottom"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top

# A solid body in the tank that the mesh leaves out, such as a baffle or a tube: it is cut out of the mesh.
#[[tank.inside]]
#name = "baffle"
#mesh = "baffle.stl"  # in the axes and from the origin of the tank's own mesh
#unit = "mm"  # the tank's where this is left out
#body = "1"  # the one that is meant where its file holds several
#tolerance = "0.05 mm"  # how far the facets that are made of a STEP file's true solid may lie off it

# Where fuel or vapour comes back from the engine.
#[[tank.return]]
#name = "return"
#position = $middle
#bore = "6 mm"
#through = "front"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top

# Where fuel comes in from another tank.
#[[tank.inlet]]
#name = "from the wing"
#position = $middle
#bore = "8 mm"
#through = "front"  # the side of the tank that is drilled for it: front, rear, left, right, bottom or top

#[[tank.switch]]
#name = "low level"
#mark = $middle  # the point that the falling surface passes when the switch trips
#differential = "3 mm"  # how much higher the surface is when it resets
#own_float = "baffle"  # the body under [[tank.inside]] that is its float, where the mark lies in that
#tolerance = "3 mm"  # how far from its place the mark may sit
#clearance = "15 mm"  # the room that its float needs all round the mark, from walls, ribs and bodies in the tank
#target = "30 min"  # the minutes that it is to leave
#float = { mass = "12 g", diameter = "30 mm", height = "40 mm" }  # its float alone
#set_in = "0.998 kg/L"  # the density of the liquid in which it trips at its mark, such as water; left out: the fuel
#max_tilt = "20 deg"  # how far from upright it is stated to work
#delay = "8 s"  # how long the surface must stay below the mark until the lamp lights
#measured_trip = "9 L"  # measured: what is in the tank when its lamp comes on as it drains, at the normal ground attitude
#through = "top"  # the side that its stem comes in from: front, rear, left, right, bottom or top

#[[tank.switch]]
#name = "lower"
#mark = $middle  # as above
#float = { mass = "12 g", volume = "28 mL", height = "40 mm" }  # one with a hole for its stem: the volume of what displaces fuel

#[tank.dipstick]
#top = $high
#bottom = $middle
#zero = "bottom"  # the end that graduations are measured from: bottom or top
#step = "5 L"  # between graduations
#other_face = "cruise"  # the attitude that the stick's other face is for
#[[tank.dipstick.also]]
#top = $high  # another place where a fill test puts the same stick in, to tell a tilt
#bottom = $middle  # where the stick stands there

# The fill test of the finished tank: `fuelsys filltest --into` writes this table, and every answer then counts it.
#[tank.measured]
#sheet = "sheet.csv"  # what was filled in
#sha256 = "0000000000000000000000000000000000000000000000000000000000000000"  # of its bytes, so that a change is seen
#date = "2026-05-30"  # of the test
#at = "parked"  # how the aircraft stood

# What the gauge senses the fuel with; one of three kinds.
#[[tank.gauge]]
#name = "probe"
#kind = "probe"  # a straight probe, capacitive or resistive: the share of it that is wet is its signal
#bottom = $middle
#top = $high

#[[tank.gauge]]
#name = "float"
#kind = "arm"  # a float on an arm that swings in the plane of these three places; its angle is its signal
#pivot = $high  # where the arm turns
#empty = $middle  # where the float swims with the arm at its lower stop
#full = $full_float  # ... and at its upper stop, as far from the pivot

#[[tank.gauge]]
#name = "stem"
#kind = "reeds"  # a float on a stem with reed switches, the first at bottom, the last at top, evenly apart
#bottom = $middle
#top = $high
#steps = 10  # how many there are

""")
TAIL = """\
# A twin on the other side: what is not stated is the other's, every place mirrored; its mesh is the other's, turned round.
#[[tank]]
#name = "right"
#mirror_of = "left"  # the name of the tank that is written out

# What the lines join outside the tanks.
#[[component]]
#name = "filter"
#kind = "filter"  # selector, valve, check valve, filter, pump, engine, tee or overboard; some fields are for some kinds only
#position = ["200 mm", "0 mm", "120 mm"]
#drain = true  # true where water can be drained from it; not for an engine or an overboard end
#sediment = "60 mL"  # what its bowl holds, for a filter
#drop = "1 kPa"  # the pressure that it takes, clean, at the flow drop_at: from its data sheet; for all that fuel passes
#drop_at = "60 L/h"  # the flow at which it takes it

#[[component]]
#name = "shut-off"
#kind = "selector"
#position = ["100 mm", "0 mm", "150 mm"]
#engine_side = false  # true where a valve or selector sits on the engine's side of the firewall
#switches_return = false  # true where a selector switches the return with the feed: lines of kind return to it, from it to each tank
#both = false  # true where a selector has a position in which its tanks feed together

#[[component]]
#name = "boost pump"
#kind = "pump"
#position = ["60 mm", "0 mm", "160 mm"]
#driven = "electric"  # what drives a pump: engine, electric or hand
#keeps_air_out = false  # true where something, such as float valves in outlets, keeps the air of an empty tank out of a pump
#stops_when_full = false  # true where something, such as a float switch, stops a pump when the tank that it fills is full
#curve = [["0 L/h", "40 kPa"], ["120 L/h", "25 kPa"]]  # the pressure that it adds at each flow: from its data sheet

#[[component]]
#name = "engine"
#kind = "engine"
#position = ["-350 mm", "0 mm", "180 mm"]
#heat = "300 W"  # what an engine gives to the fuel that it sends back
#measured_flow = "52 L/h"  # what a flow test brought to an engine
#return_flow = "60 L/h"  # what an engine sends back; "0 L/h" where it sends none
#inlet_pressure = "3 kPa"  # above the air's, that it needs where fuel enters it
#most_inlet_pressure = "40 kPa"  # above the air's, the most that it may get there: its manual says it
#most_return_pressure = "10 kPa"  # above the air's, the most that may stand where it sends fuel back: its manual says it

#[[component]]
#name = "vent mast"
#kind = "overboard"
#position = ["500 mm", "0 mm", "1200 mm"]
#discharges_clear = true  # true where an overboard end lets fuel go clear of the aircraft
#kept_clear = "shielded"  # or "heated": what keeps ice, rain and insects from blocking that end

#[[line]]
#name = "shut-off to engine"
#kind = "feed"  # feed, vent, return or interconnect
#from = "shut-off"  # a component's name, or "TANK.PORT"
#to = "engine"
#bore = "8 mm"
#path = [["0 mm", "0 mm", "150 mm"]]  # the bends between the ends, in order
#drains = [["0 mm", "0 mm", "150 mm"]]  # places along it with a drain
#bend_radius = "30 mm"  # of the bends' middle line; without it they count as mitred
"""
FLIGHT = Template("""
# The aircraft as it is flown, without any fuel: its centre of gravity is held against these limits as fuel is burnt.
#[[load]]
#name = "pilot alone"  # what the load is called
#mass = "410 kg"  # of a load: all but the fuel
#centre = "380 mm"  # aft of the datum
#forward_limit = "300 mm"  # of a load; aft of the datum
#aft_limit = "480 mm"  # of a load; aft of the datum
#most_mass = "600 kg"  # that it may weigh with its fuel

# A flight for `fuelsys fly`, part by part; without one it is flown from full at the normal flight attitude and the reserve flow.
#[[flight]]
#name = "take-off"
#attitude = "climb"  # one of the envelope above
#flow = "takeoff"  # one of the flows above
#duration = "10 min"  # without it this part lasts until the engine gets air
#selectors = { "shut-off" = $name }  # where each selector stands: on a tank, "both" or "off"
#shut = []  # valves that are shut
#pumps = ["boost pump"]  # the pumps that run; without it all that have a curve
#returns_to = $name  # the tank that the engine's return goes to, where its lines lead to several
#loaded = { $name = "20 L" }  # what is in the tanks at the beginning, in the first part; full where a tank is left out
""")
