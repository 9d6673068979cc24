"""What is in a tank after each line of a fill test's sheet, at the fuel's own temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fuelsys.analysis.tank.growth import density_at
from fuelsys.arrays import Floats
from fuelsys.errors import FuelsysError, SheetError
from fuelsys.model.stated.fillsheet import Entry, Sheet


@dataclass(frozen=True)
class Poured:
    """A line with the total in the tank and what the line itself added to it (drained: less than nothing)."""

    entry: Entry
    total_m3: float
    step_m3: float


def totals(sheet: Sheet, density_kg_m3: float) -> tuple[Poured, ...]:
    """The running totals of a sheet; the density is the fuel's at 15 °C. SheetError where a line lacks its temperature.

    Without any temperature all of it is taken to be at one, and there is nothing to correct. With temperatures, mass is
    added up: each amount at its own temperature, the tank's fuel at what its column says on the line, else at the mean, by
    mass, of what was poured.
    """
    moved = [entry for entry in sheet.entries if entry.amount and entry.amount.si > 0.0]
    if not any(entry.temperature_k or entry.tank_k for entry in sheet.entries) and all(
        entry.amount is not None and entry.amount.kind == "volume" for entry in moved
    ):
        return _added(sheet)
    found = []
    mass_kg, heat_kg_k, before_m3 = 0.0, 0.0, 0.0
    for entry in sheet.entries:
        amount = entry.amount
        if amount is not None and amount.si > 0.0:
            at_k = entry.temperature_k
            if entry.drained and at_k is None:
                at_k = entry.tank_k or (heat_kg_k / mass_kg if mass_kg > 0.0 else None)
            if at_k is None:
                raise SheetError(
                    "the temperature is missing",
                    mend="Give the temperature of each amount, or of none and no masses.",
                    file=sheet.file,
                    field=f"line {entry.line}, temperature",
                )
            density = _density(density_kg_m3, at_k, sheet, entry)
            kg = (amount.si if amount.kind == "mass" else amount.si * density) * (-1.0 if entry.drained else 1.0)
            # What is drained takes the tank's own mean along.
            heat_kg_k += kg * (heat_kg_k / mass_kg if entry.drained and mass_kg > 0.0 else at_k)
            mass_kg += kg
        total = 0.0
        if mass_kg > 0.0:
            total = mass_kg / _density(density_kg_m3, entry.tank_k or heat_kg_k / mass_kg, sheet, entry)
        _check(mass_kg, sheet, entry)
        found.append(Poured(entry, max(0.0, total), total - before_m3))
        before_m3 = total
    return tuple(found)


def with_moved(poured: Sequence[Poured], shifts_m3: Floats) -> list[Poured]:
    """The lines with their totals moved (n,), none below nothing."""
    return [
        replace(one, total_m3=max(0.0, one.total_m3 + float(by))) for one, by in zip(poured, shifts_m3, strict=True)
    ]


def _added(sheet: Sheet) -> tuple[Poured, ...]:
    found, total = [], 0.0
    for entry in sheet.entries:
        step = (entry.amount.si if entry.amount else 0.0) * (-1.0 if entry.drained else 1.0)
        total += step
        _check(total, sheet, entry)
        found.append(Poured(entry, max(0.0, total), step))
    return tuple(found)


def _check(total: float, sheet: Sheet, entry: Entry) -> None:
    """Refuse to drain more than was poured."""
    if total < -1e-9:
        raise SheetError(
            "more was drained than was poured before",
            mend="Give all that was poured, from the dry tank on.",
            file=sheet.file,
            field=f"line {entry.line}, drained",
        )


def _density(density_kg_m3: float, at_k: float, sheet: Sheet, entry: Entry) -> float:
    try:
        return density_at(density_kg_m3, at_k)
    except FuelsysError as fault:
        field = f"line {entry.line}, temperature"
        raise SheetError(fault.found, mend=fault.mend, file=sheet.file, field=field) from fault
