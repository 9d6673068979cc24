"""The fill test: what the sheet of a finished tank that was filled in steps says of its model. All SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fuelsys.arrays import Floats
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import MadeFor
from fuelsys.model.words import Words

# What the fit may change of the model, in the order in which it is told.
Block = Literal["scale", "offset", "tilt", "layer"]
BLOCKS: tuple[Block, ...] = ("scale", "offset", "tilt", "layer")
PARAMETERS = ("scale", "offset", "pitch", "roll", "layer")
OF_BLOCK: dict[Block, tuple[int, ...]] = {"scale": (0,), "offset": (1,), "tilt": (2, 3), "layer": (4,)}
Point = tuple[float, float, float]
NOT_COMPUTED = "not computed: needs "


@dataclass(frozen=True)
class Reading:
    """A line with the total in the tank, what was read on the stick and what the model reads there; why says why it is left out.

    mended_m3 is the total less what a line that does not belong makes of it; the corrected model is read there. place is where the
    stick was put in, 0 its own; attitude the one that it was read at, where that is not the test's.
    """

    line: int
    total_m3: float
    read_m: float | None
    before_m: float | None
    after_m: float | None
    why: str = ""
    mended_m3: float | None = None
    place: int = 0
    attitude: str = ""


@dataclass(frozen=True)
class Found:
    """A parameter of the correction: its value and the half-width of its interval of 95 %."""

    name: str
    value: float
    within: float


@dataclass(frozen=True)
class Tried:
    """A correction that was tried: how many figures it has, the spread of the residuals that it leaves, AICc (None: too few
    readings for it), the least p value of an F test against those that add to it, and what the tank is then filled to.

    enough: nothing added to it improves it. kept: the one that is used. rival: enough as well, and the data cannot tell.
    """

    blocks: tuple[Block, ...]
    figures: int
    spread_m: float
    aicc: float | None
    p: float | None
    fillable_m3: float
    enough: bool
    kept: bool = False
    rival: bool = False
    found: tuple[Found, ...] = ()


@dataclass(frozen=True)
class Suspect:
    """A line that does not belong: its reading is off, or the running total from it on.

    off is by how much, noted less true (m of the stick, m³ of the total), within its half-width of 95 %. at tells
    its step and its line in words.
    """

    line: int
    kind: Literal["reading", "total"]
    off: float
    within: float
    meanings: tuple[str, ...]
    place: int = 0
    at: str = ""


@dataclass(frozen=True)
class LampSeen:
    """A lamp against the mark: between which totals it changed, and where it should have. verdict is one of three.

    window_m3 is what the mark's tolerance and the correction's own doubt make of the predicted total.
    """

    switch: str
    event: Literal["goes out", "comes on"]
    seen_m3: tuple[float, float] | None
    predicted_m3: float | None
    window_m3: tuple[float, float] | None
    verdict: Literal["accepted", "to be looked at", "contradicted", "not computed"]
    why: str


@dataclass(frozen=True)
class Regraduated:
    """A mark of the stick: where it was drawn, where it belongs by the test, and the half-width of 95 % in length and quantity."""

    volume_m3: float
    drawn_m: float
    corrected_m: float
    within_m: float
    within_m3: float


@dataclass(frozen=True)
class Capacities:
    """What the tank holds by the drawing and by the test, each with the half-width of 95 %; fillable None without a filler."""

    gross_m3: tuple[float, float, float]
    fillable_m3: tuple[float, float, float] | None


@dataclass(frozen=True)
class Fewer:
    """A can that was noted before the stick showed any, and without which the readings are explained as well: its amount; the correction
    of all lines as they were noted, and what the tank holds by that. What a fit tells is then without it, being less.
    """

    amount_m3: float
    noted: tuple[Found, ...]
    noted_m3: float


@dataclass(frozen=True)
class FillFit:
    """What the readings say of the model. same are parameters that the kept correction itself cannot tell apart.

    noise_m is the spread of the readings; runs: residuals of one sign follow each other more than chance makes them.
    searched: there were enough readings to look for lines that do not belong. used_correction has all of PARAMETERS: marks are made
    with it. together is what all of them say together; by_places: the stick's places measured the tilt. unseen_m3 are the cans that were
    poured before the stick showed any, each size once, of which it was sought whether one was noted and not poured.
    """

    found: tuple[Found, ...]
    tried: tuple[Tried, ...]
    suspects: tuple[Suspect, ...]
    same: tuple[str, ...]
    noise_m: float
    before_m: float
    used: int
    runs: bool
    searched: bool
    marks: tuple[Regraduated, ...]
    capacity: Capacities
    used_correction: tuple[float, ...] = (0.0,) * 5
    curve: tuple[Floats, Floats, Floats, Floats] | None = None
    together: tuple[Found, ...] = ()
    by_places: bool = False
    unseen_m3: tuple[float, ...] = ()
    fewer: Fewer | None = None


@dataclass(frozen=True)
class AtMark:
    """What the tank holds when the surface passes a switch's mark: as drawn, by the fit, and half the width of 95 % of that.

    seen_m3 is what the lamp itself says, where the sheet has it; sure_m3 is what is counted on, by both.
    """

    switch: str
    attitude: Attitude
    drawn_m3: float
    held_m3: float
    within_m3: float
    sure_m3: float
    seen_m3: tuple[float, float] | None = None


@dataclass(frozen=True)
class GaugeRead:
    """What a gauge showed at a line, how much of its way stood in fuel, and what it would show too much; why says why not."""

    line: int
    total_m3: float
    read: float
    signal: float | None
    off_m3: float | None
    why: str = ""


@dataclass(frozen=True)
class GaugePoint:
    """What a gauge should show at a total."""

    total_m3: float
    shown: float


@dataclass(frozen=True)
class GaugeSeen:
    """A gauge at its lines: what it shows dry and wet all along, by how much it is off at most, and the points that calibrate it.

    None, with why, where the lines do not tell it.
    """

    gauge: str
    rows: tuple[GaugeRead, ...] = ()
    dry: float | None = None
    wet: float | None = None
    most_m3: float | None = None
    points: tuple[GaugePoint, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class FillTest:
    """A fill test of one tank at one ground attitude; fit is None, with why, where the readings say nothing of the model.

    at_marks has each switch at each attitude of the design, the test's own first; origin says what is to be known of its sheet.
    """

    tank: str
    file: str
    attitude: Attitude
    zero: str
    readings: tuple[Reading, ...]
    lamps: tuple[LampSeen, ...]
    fit: FillFit | None
    why_no_fit: str = ""
    by_temperature: bool = False
    at_marks: tuple[AtMark, ...] = ()
    gauges: tuple[GaugeSeen, ...] = ()
    origin: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """A line of the plan: a total to pour to, what the stick should then read (None: dry, or off the stick), and what happens.

    also_m are its readings at other places; lamps those that should go out there.
    """

    total_m3: float
    read_m: float | None
    words: Words = ()
    also_m: tuple[float | None, ...] = ()
    lamps: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sees:
    """What a test as it is planned will tell: half the width of 95 % of each of PARAMETERS, and what it hardly tells at all.

    place_m (3,), in the mesh's axes, is the floor at another place for the stick that would tell more of the tilt, and better what
    each would then be within; None where there is none.
    """

    within: tuple[float, ...]
    untold: tuple[str, ...]
    place_m: tuple[float, float, float] | None = None
    better: tuple[float, ...] = ()


@dataclass(frozen=True)
class FillPlan:
    """How a fill test may go: totals to pour to, with what is expected there; not_told says which lamp it cannot foresee, and why.

    places is how many other places the stick is put in at; others names the other attitudes that the tank may stand
    at, gauges its gauges. sticks_m are the ends (bottom, top) of the stick at each place in the mesh's axes; per_degree_m is by how
    much at most a reading moves for a degree of pitch and of roll.
    """

    tank: str
    attitude: Attitude
    zero: str
    length_m: float | None
    steps: tuple[Step, ...]
    lamps: tuple[str, ...]
    not_told: tuple[str, ...] = ()
    sees: Sees | None = None
    places: int = 0
    others: tuple[str, ...] = ()
    gauges: tuple[str, ...] = ()
    sticks_m: tuple[tuple[Point, Point], ...] = ()
    per_degree_m: tuple[float, float] | None = None
    made_for: MadeFor | None = None
