"""What several tables share: an attitude's cells, keys, and the words that stand under minutes."""

from __future__ import annotations

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.table import Cell, Column

STEADY = "An upper bound at a steady attitude: fuel that is cut off may come back as the aircraft moves."
NO_OUTLET = Doubt("not computed: needs an outlet, from which what stays behind is counted.")
MINUTES = (
    "Minutes of this tank alone, at the flow stated and at steady attitudes of the envelope. A greater flow, fuel that returns"
    " to another tank or an attitude beyond the envelope leave fewer; fuel that comes back from pockets leaves more."
)


def slug(text: str) -> str:
    """A name as part of a file's name.

    >>> slug("slip, right wing low")
    'slip-right-wing-low'
    """
    return "-".join("".join(c if c.isalnum() else " " for c in text.lower()).split())


ATTITUDE = (
    Column("attitude"),
    Column("phase", rank=2),
    Column("pitch", "angle", rank=4),
    Column("roll", "angle", rank=4),
)


def attitude_cells(attitude: Attitude) -> tuple[Cell, ...]:
    """An attitude in ATTITUDE's columns."""
    return (attitude.heading, attitude.phase, attitude.pitch_rad, attitude.roll_rad)


def seconds(minutes: float | None) -> float | None:
    """Minutes in SI; None stays None."""
    return None if minutes is None else minutes * 60.0


def mesh_axes(tank: FittedTank) -> str:
    """The mesh's axes in words, for notes."""
    return f"{tank.design.mesh}: {tank.design.axes}"
