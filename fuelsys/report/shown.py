"""How SI values are shown: in the units that a person asked for, with digits to match."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

from fuelsys import units
from fuelsys.model.words import Quantity, Words

# Digits after the point for each unit that can be asked for; a litre to the millilitre, a millimetre to a tenth.
_DIGITS = {
    "L": 3, "mL": 0, "m3": 6, "US gal": 3, "imp gal": 3, "mm": 1, "cm": 2, "m": 4, "in": 3, "ft": 4, "kg": 2, "lb": 2,
    "cm2": 2, "m2": 4, "in2": 3, "min": 1, "%": 2, "°": 1, "": 0, "kPa": 2, "psi": 2, "L/h": 1, "US gal/h": 1, "imp gal/h": 1,
    "N": 0, "lbf": 0, "K": 1, "kg m": 2, "lb in": 1,
}  # fmt: skip
# The same on a page that is read, where more digits hide the figure; files keep all.
_COARSE = {**_DIGITS, "L": 1, "m3": 4, "US gal": 2, "imp gal": 2, "kg": 1, "lb": 1, "%": 1}
_NOTHING_M3 = 0.5e-6  # what no figure shows, which is nothing in a coarse one too
_LEAST_LITRES = 0.0995  # less stands in millilitres in a coarse sentence
# How people write them; CSV keeps plain letters, which every spreadsheet reads.
WRITTEN = {"cm2": "cm²", "m2": "m²", "in2": "in²", "m3": "m³"}


@dataclass(frozen=True)
class Shown:
    """The units that answers are shown in; coarse to a tenth of a litre, for a page."""

    volume: str = "L"
    length: str = "mm"
    coarse: bool = False

    def digits(self, unit: str) -> int:
        """Digits after the point of figures in a unit."""
        return (_COARSE if self.coarse else _DIGITS).get(unit, 3)

    def unit(self, kind: str) -> str:
        """The unit of a kind of column; empty for text."""
        imperial = self.length in ("in", "ft")
        area, mass = ("in2", "lb") if imperial else ("cm2", "kg")
        chosen = {"volume": self.volume, "length": self.length, "area": area, "mass": mass}
        if kind == "flow":
            return f"{self.volume if 'gal' in self.volume else 'L'}/h"
        pairs = {"pressure": ("kPa", "psi"), "force": ("N", "lbf"), "moment": ("kg m", "lb in")}
        if kind in pairs:
            return pairs[kind][imperial]
        return chosen.get(kind) or {"time": "min", "share": "%", "angle": "°", "temperature": "K"}.get(kind, "")

    def written(self, kind: str) -> str:
        """The same unit as people write it."""
        return WRITTEN.get(self.unit(kind), self.unit(kind))

    def named(self, words: str, kind: str) -> str:
        """A heading with the unit that its figures are in.

        >>> Shown().named("level", "length")
        'level [mm]'
        """
        return f"{words} [{self.written(kind)}]"

    @property
    def check(self) -> tuple[float, int]:
        """The line that tells whether a print is at full size: its length in mm, and in how many parts it is divided.

        >>> Shown(length="in").check, Shown().check
        ((101.6, 8), (100.0, 10))
        """
        return {"in": (101.6, 8), "ft": (76.2, 6)}.get(self.length, (100.0, 10))

    def scale(self, kind: str) -> dict[str, str | float | int]:
        """How a script shows a kind as tables do: its unit, what one of it is in SI, digits after the point.

        >>> Shown(length="in").scale("length")
        {'unit': 'in', 'si': 0.0254, 'digits': 3, 'coarse': False}
        """
        unit = self.unit(kind)
        return {
            "unit": self.written(kind), "si": units.scale(unit, kind), "digits": self.digits(unit), "coarse": self.coarse,
        }  # fmt: skip

    def value(self, value_si: float, kind: str) -> float:
        """A number in its unit."""
        return units.from_si(value_si, self.unit(kind), kind)

    def figure(self, value_si: float, kind: str, *, up: bool = False) -> str:
        """A number without its unit, as tables print it; a quantity that a coarse one would round to nothing stands as a limit.

        Minutes are counted on, so they are never rounded up, but where up says so.

        >>> Shown(coarse=True).figure(0.03e-3, "volume"), Shown(coarse=True).figure(0.0, "volume"), Shown().figure(598.0, "time")
        ('<0.1', '0.0', '9.9')
        """
        if kind == "time":
            return units.minutes(value_si, up=up)
        digits = self.digits(self.unit(kind))
        text = rounded(self.value(value_si, kind), digits)
        some = self.coarse and kind == "volume" and value_si > _NOTHING_M3
        return f"<{10.0**-digits:g}" if some and float(text) == 0.0 else text

    def short(self, value_si: float, kind: str) -> str:
        """A number that somebody chose, such as a bore, in as few digits as give it back.

        >>> Shown(length="in").short(0.00635, "length")
        '0.25 in'
        """
        return f"{round(self.value(value_si, kind), 6) + 0.0:.6g} {self.written(kind)}"

    def text(self, value_si: float, kind: str) -> str:
        """A number with its unit, for sentences; what rounds to nothing is said as a limit, and nothing as 0.

        >>> Shown(length="in").text(0.0254, "length")
        '1.000 in'
        >>> Shown().text(2e-9, "volume")
        'under 0.001 L'
        >>> Shown().text(-0.0, "volume")
        '0 L'
        >>> coarse = Shown(coarse=True)
        >>> coarse.text(0.02494, "volume"), coarse.text(0.0000163, "volume"), coarse.text(0.0, "volume")
        ('24.9 L', '16 mL', '0 L')
        >>> Shown(volume="US gal", coarse=True).text(0.000018, "volume")
        '0.005 US gal'
        """
        unit = self.unit(kind)
        value = abs(units.from_si(value_si, unit, kind))
        if self._in_millilitres(value, unit):
            return Shown(volume="mL").text(value_si, kind)
        least = 10.0 ** -self.digits(unit)
        if (
            value < least / 2.0 and self.coarse and kind == "volume"
        ):  # a limit says too little of what is dangerous to have
            return replace(self, coarse=False).text(value_si, kind)
        if value < least / 2.0:
            return f"{f'under {units.plain(least, 1)}' if value > 1e-12 * least else '0'} {self.written(kind)}"
        return f"{self.figure(value_si, kind)} {self.written(kind)}"

    def _in_millilitres(self, value: float, unit: str) -> bool:
        """Would a quantity say little in tenths of a litre? Nothing is nothing in litres too."""
        return self.coarse and unit == "L" and 1e-12 < value < _LEAST_LITRES

    def words(self, words: str | Words) -> str:
        """Words with their quantities in these units.

        >>> Shown().words(("at least ", Quantity("length", (0.003634,), up=True)))
        'at least 3.7 mm'
        >>> Shown(coarse=True).words(("at most ", Quantity("volume", (0.00299,), down=True)))
        'at most 2.9 L'
        >>> Shown(length="in").words(("at ", Quantity("length", (0.0254, 0.0, -0.0127))))
        'at (1, 0, -0.5) in'
        >>> Shown().words((Quantity("speed", (0.3048,)),)), Shown(length="in").words((Quantity("climb", (7.62,)),))
        ('0.305 m/s', '1500 ft/min')
        >>> Shown().words((Quantity("density", (720.0,)),))
        '0.720 kg/L'
        """
        if isinstance(words, str):
            return words
        return "".join(part if isinstance(part, str) else self._quantity(part) for part in words)

    def density_text(self, density_kg_m3: float) -> str:
        """A density in the units of mass and volume, where people use the two together."""
        unit = "lb/US gal" if (self.unit("mass"), self.volume) == ("lb", "US gal") else "kg/L"
        return f"{units.from_si(density_kg_m3, unit, 'density'):.3f} {unit}"

    def _quantity(self, given: Quantity) -> str:
        first, unit = given.values_si[0], self.unit(given.kind)
        if given.kind == "flow":
            return self.flow_text(first)
        if given.kind == "pressure":
            return f"{self.figure(first, 'pressure')} {self.unit('pressure')}"
        if given.kind == "density":
            return self.density_text(first)
        if given.kind in ("speed", "climb"):
            unit = self._speed_unit(given.kind)
            return f"{units.plain(units.from_si(first, unit, 'speed'), 3)} {unit}"
        if len(given.values_si) > 1:
            along = (round(self.value(value, given.kind), self.digits(unit)) + 0.0 for value in given.values_si)
            return f"({', '.join(f'{value:.9g}' for value in along)}) {self.written(given.kind)}"
        if given.up or given.down:
            step = 0.001 if self._in_millilitres(self.value(first, given.kind), unit) else 10.0 ** -self.digits(unit)
            steps = self.value(first, given.kind) / step
            whole = ceil(steps - 1e-6) if given.up else floor(steps + 1e-6)
            first = units.to_si(whole * step, unit, given.kind)
        return self.text(first, given.kind)

    def _speed_unit(self, kind: str) -> str:
        """What speeds are written in beside lengths of these units; of an aircraft, feet a minute."""
        if self.length not in ("in", "ft"):
            return "m/s"
        return "ft/min" if kind == "climb" else "ft/s"

    def flow_text(self, flow_m3_s: float) -> str:
        """A flow per hour in the unit of volumes."""
        return f"{self.value(flow_m3_s * 3600.0, 'volume'):.4g} {self.written('volume')}/h"


def rounded(value: float, digits: int) -> str:
    """A number to so many digits after the point; nothing has no sign."""
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text
