"""Field types that take people's text with units and hold SI, and the base of all records of a design file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

from fuelsys import units
from fuelsys.errors import UnitError

# In the program a name carries its unit; in the file the unit stands in the text.
_SUFFIXES = ("_m3_s", "_m_s2", "_kg_m3", "_per_m", "_m2", "_m3", "_m", "_s", "_rad", "_w")


def file_key(name: str) -> str:
    """A field's key in the design file: its name without the unit.

    >>> file_key("bore_m"), file_key("name")
    ('bore', 'name')
    """
    for suffix in _SUFFIXES:
        if name.endswith(suffix):
            name = name.removesuffix(suffix)
            break
    return {"return_to": "return", "from_port": "from", "to_port": "to"}.get(name, name)


def _reader(kind: str) -> Callable[[object], float]:
    def read(value: object) -> float:
        try:
            return units.parse(value, kind)
        except UnitError as fault:
            raise PydanticCustomError(
                "quantity", "{found}|{mend}", {"found": fault.found, "mend": fault.mend}
            ) from fault

    return read


Length = Annotated[float, BeforeValidator(_reader("length"))]
Bore = Annotated[float, BeforeValidator(_reader("length")), Field(ge=0.0005, le=0.2)]
Gap = Annotated[float, BeforeValidator(_reader("length")), Field(ge=0.0, le=1.0)]
Area = Annotated[float, BeforeValidator(_reader("area")), Field(gt=0.0)]
Volume = Annotated[float, BeforeValidator(_reader("volume")), Field(ge=0.0)]
Flow = Annotated[float, BeforeValidator(_reader("flow")), Field(gt=0.0)]
Density = Annotated[float, BeforeValidator(_reader("density")), Field(ge=500.0, le=1200.0)]
Angle = Annotated[float, BeforeValidator(_reader("angle")), Field(ge=-3.1416, le=3.1416)]
Acceleration = Annotated[float, BeforeValidator(_reader("acceleration")), Field(ge=-100.0, le=100.0)]
Duration = Annotated[float, BeforeValidator(_reader("time")), Field(gt=0.0)]
MeshCount = Annotated[float, BeforeValidator(_reader("mesh")), Field(gt=0.0)]
Share = Annotated[float, BeforeValidator(_reader("share")), Field(gt=0.0, le=1.0)]
Power = Annotated[float, BeforeValidator(_reader("power")), Field(gt=0.0)]
Point = tuple[Length, Length, Length]


class Record(BaseModel):
    """A table of the design file: frozen, no unknown keys, no silent conversions."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=file_key, populate_by_name=True, allow_inf_nan=False
    )
