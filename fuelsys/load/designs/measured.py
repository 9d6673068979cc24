"""A fill test that a design file names: its sheet, held to the digest that it was looked at with."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from fuelsys.errors import FuelsysError
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.load.formats import files
from fuelsys.model.built.layout import FittedTank


def with_sheet(number: int, tank: FittedTank, folder: Path, faults: list[Fault]) -> FittedTank:
    """A tank with the sheet of its fill test; a fault more where that is not the one that was looked at."""
    measured = tank.design.measured
    place: Place = ("tank", number, "measured")
    if measured is None:
        return tank
    from fuelsys.load.designs import fillsheet  # noqa: PLC0415  for designs with a test

    again = f"Look at it with `fuelsys filltest DESIGN --tank {tank.name} --from SHEET`, then again with --into DESIGN."
    try:
        digest = fillsheet.digest(folder / measured.sheet)
        sheet = fillsheet.read_sheet(folder / measured.sheet, [switch.name for switch in tank.design.switch])
    except FuelsysError as fault:
        faults.append(Fault((*place, "sheet"), f'"{files.label(measured.sheet)}": {fault.found}', fault.mend))
        return tank
    if digest != measured.sha256:
        faults.append(Fault((*place, "sha256"), f"the sheet has changed since {measured.date}", again))
    return replace(tank, sheet=sheet)
