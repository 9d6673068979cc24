"""Field types that take people's text with units and hold SI, and the base of all records of a design file."""

from __future__ import annotations

from math import inf, pi
from typing import Annotated

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict
from pydantic_core import PydanticCustomError

from fuelsys import units
from fuelsys.errors import UnitError

# In the program a name carries its unit; in the file the unit stands in the text.
_SUFFIXES = (
    "_m3_s",
    "_m2_s",
    "_m_s2",
    "_m_s",
    "_kg_m3",
    "_kg",
    "_per_m",
    "_m2",
    "_m3",
    "_m",
    "_s",
    "_rad",
    "_w",
    "_pa",
)


def file_key(name: str) -> str:
    """A field's key in the design file: its name without the unit.

    >>> file_key("bore_m"), file_key("name")
    ('bore', 'name')
    """
    for suffix in _SUFFIXES:
        if name.endswith(suffix):
            name = name.removesuffix(suffix)
            break
    return {"return_to": "return", "float_body": "float", "from_port": "from", "to_port": "to"}.get(name, name)


def _fault(found: str, mend: str) -> PydanticCustomError:
    return PydanticCustomError("own_words", "{found}. {mend}", {"found": found, "mend": mend})


def _bounds(unit: str, kind: str, least: float, most: float, above: float) -> str:
    """The limits as a phrase, in the unit that the person chose."""

    def text(value_si: float) -> str:
        return f"{units.from_si(value_si, unit, kind):.5g} {unit}"

    if above == -inf:
        return f"from {text(least)} to {text(most)}"
    return f"more than {text(above)}" + (f" and at most {text(most)}" if most < inf else "")


def _quantity(
    kind: str, least: float = -inf, most: float = inf, *, above: float = -inf, called: str | None = None
) -> BeforeValidator:
    """Reads text with a unit as SI and refuses what is out of its bounds: least <= value <= most, or above < value."""
    name = called or units.noun(kind)

    def read(value: object) -> float:
        try:
            value_si, unit = units.parse(value, kind), units.split(value, kind)[1]
        except UnitError as fault:
            raise _fault(fault.found, fault.mend) from fault
        if not (least <= value_si <= most and value_si > above):
            size = "large" if value_si > most else "small"
            limits = _bounds(unit, kind, least, most, above)
            raise _fault(
                f"found {units.shown(value)}, which is too {size}", f"Give {name} {limits}; is the unit right?"
            )
        return value_si

    return BeforeValidator(read)


def _three(value: object) -> object:
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise _fault(f"found {units.shown(value)}", 'Give x, y and z, such as ["120 mm", "-40 mm", "0 mm"].')
    return value


def _load_factor(value: object) -> float:
    """A plain number: a load factor is a ratio, and has no unit."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value <= MOST_LOAD_FACTOR:
        raise _fault(
            f"found {units.shown(value)}",
            f"Give a load factor as a plain number without a unit, more than 0 and at most {MOST_LOAD_FACTOR:g}, such as 3.8.",
        )
    return float(value)


def _steps(value: object) -> int:
    """How many switches stand in a row."""
    if isinstance(value, bool) or not isinstance(value, int) or not 2 <= value <= MOST_STEPS:
        raise _fault(f"found {units.shown(value)}", f"Give a whole number from 2 to {MOST_STEPS}, without quotes.")
    return value


def _points(value: object) -> object:
    """A list of [flow, pressure], each with its unit."""
    if (
        not isinstance(value, list | tuple)
        or not value
        or any(not isinstance(v, list | tuple) or len(v) != 2 for v in value)
    ):
        raise _fault(
            f"found {units.shown(value)}",
            'Give a list of [flow, pressure], such as [["0 L/h", "40 kPa"], ["120 L/h", "25 kPa"]].',
        )
    return value


def _falling(curve: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """A pump's curve, whose laws hold only where it delivers something, and no more pressure at more flow."""
    points = sorted(curve)
    if not points[-1][0] > 0.0:
        raise _fault(
            "no point has a flow of more than 0", "Give at least one flow that it delivers, with its pressure."
        )
    for (flow, adds), (more, then) in zip(points, points[1:], strict=False):
        if more == flow and then != adds:
            at = units.written(flow, "L/h", "flow")
            raise _fault(f"found two pressures at {at}", "Give each flow one pressure.")
        if then > adds:
            high, low = (units.written(value, "kPa", "pressure") for value in (then, adds))
            at, before = (units.written(value, "L/h", "flow") for value in (more, flow))
            raise _fault(
                f"found {high} at {at}, more than the {low} at {before}",
                "Give pressures that do not rise with the flow; are two of them exchanged?",
            )
    return curve


def rising(pair: tuple[float, float]) -> tuple[float, float]:
    """Two figures, the lesser first."""
    if not pair[0] < pair[1]:
        raise _fault("the first is not less than the second", "Give the least first, then the greatest.")
    return pair


MOST_LOAD_FACTOR = 20.0
MOST_STEPS = 200
# Bounds are those of sense, to catch a wrong unit or a slip of the pen; common practice, no source.
Length = Annotated[float, _quantity("length", -100.0, 100.0)]
Altitude = Annotated[float, _quantity("length", 0.0, 15_000.0, called="an altitude")]
Bore = Annotated[float, _quantity("length", 0.0005, 0.2, called="a bore")]
Gap = Annotated[float, _quantity("length", 0.0, 1.0)]
Area = Annotated[float, _quantity("area", 1e-8, 1.0)]
Volume = Annotated[float, _quantity("volume", 0.0, 10.0)]
Flow = Annotated[float, _quantity("flow", most=0.003, above=0.0)]
Density = Annotated[float, _quantity("density", 500.0, 1200.0)]
Angle = Annotated[float, _quantity("angle", -pi, pi)]
Acceleration = Annotated[float, _quantity("acceleration", -100.0, 100.0)]
Duration = Annotated[float, _quantity("time", above=0.0)]
MeshCount = Annotated[float, _quantity("mesh", above=0.0)]
Layer = Annotated[float, _quantity("length", 0.0, 0.02, called="a thickness")]
Unmodelled = Annotated[float, _quantity("share", 0.0, 0.2)]
Share = Annotated[float, _quantity("share", most=1.0, above=0.0)]
Pressure = Annotated[float, _quantity("pressure", 0.0, 1e6)]
ReidPressure = Annotated[float, _quantity("pressure", most=1e6, above=0.0, called="a vapour pressure")]
Rate = Annotated[float, _quantity("speed", 0.0, 100.0, called="a rate of climb or descent")]
Viscosity = Annotated[float, _quantity("viscosity", 1e-7, 1e-3)]
Power = Annotated[float, _quantity("power", above=0.0)]
LoadFactor = Annotated[float, BeforeValidator(_load_factor)]
Steps = Annotated[int, BeforeValidator(_steps)]
Spelled = BeforeValidator(lambda unit: units.named(unit) if isinstance(unit, str) else unit)
MeshUnit = Annotated[str, AfterValidator(units.named)]
AnyFlow = Annotated[float, _quantity("flow", 0.0, 0.003)]
PumpCurve = Annotated[tuple[tuple[AnyFlow, Pressure], ...], BeforeValidator(_points), AfterValidator(_falling)]
Mass = Annotated[float, _quantity("mass", most=10.0, above=0.0)]
Weight = Annotated[float, _quantity("mass", most=20_000.0, above=0.0)]
Tilt = Annotated[float, _quantity("angle", most=pi / 2.0, above=0.0)]
Point = Annotated[tuple[Length, Length, Length], BeforeValidator(_three)]


class Record(BaseModel):
    """A table of the design file: frozen, no unknown keys, no silent conversions; what reads it is built when it is first read."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=file_key,
        populate_by_name=True,
        allow_inf_nan=False,
        defer_build=True,
    )
