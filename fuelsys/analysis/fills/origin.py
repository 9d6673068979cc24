"""Which tank, attitude and mesh a fill test's sheet was written for, and what it means where these are others."""

from __future__ import annotations

from fuelsys.errors import SheetError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import MadeFor, Sheet
from fuelsys.model.words import Doubt

_DIGITS = 12  # of a mesh's SHA-256, as other sheets carry


def made_for(layout: Layout, tank: FittedTank, attitude: Attitude) -> MadeFor:
    """What a new sheet says of itself; the mesh's digits are empty where it was not read from a file."""
    mesh = next((one.sha256[:_DIGITS] for one in layout.inputs if one.file == tank.design.mesh), "")
    return MadeFor(tank.name, attitude.name, mesh)


def origin_notes(layout: Layout, tank: FittedTank, attitude: Attitude, sheet: Sheet) -> tuple[str, ...]:
    """What is to be known of where a sheet comes from; SheetError where it says that it is another tank's."""
    said, here = sheet.made_for, made_for(layout, tank, attitude)
    if said is None:
        return ("The sheet does not say which tank it is for: see that it is this one's.",)
    if said.tank != here.tank:
        mend = f"Give --tank {said.tank}, or the sheet of {here.tank}; of a tank renamed since, mend the name in that remark."
        raise SheetError(f"the sheet is for tank {said.tank}", mend=mend, file=sheet.file, field=f"tank {here.tank}")
    found = []
    if said.attitude != here.attitude:
        found.append(Doubt(f"the sheet was written for {said.attitude}, and is read as at {here.attitude}."))
    if said.mesh and here.mesh and said.mesh != here.mesh:
        found.append(
            Doubt("the tank's mesh has changed since the sheet was written: is the finished tank as it is now?")
        )
    return tuple(found)
