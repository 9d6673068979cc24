"""What the fields of a design file must be to one another: names that exist and are unique, one normal attitude a phase."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from fuelsys.errors import FuelsysError
from fuelsys.model.design import Design, Tank


def faults(design: Design, file: str) -> Iterator[FuelsysError]:
    """Every contradiction between the fields of a design."""
    yield from _attitudes(design, file)
    yield from _flows(design, file)
    yield from _names("tank", [tank.name for tank in design.tank], file)
    yield from _names("component", [component.name for component in design.component], file)
    yield from _names("line", [line.name for line in design.line], file)
    for tank in design.tank:
        yield from _tank(tank, file)
    yield from _ends(design, file)


def _names(what: str, names: Iterable[str], file: str) -> Iterator[FuelsysError]:
    for name, times in Counter(names).items():
        if times > 1:
            yield FuelsysError(
                f'the name "{name}" stands {times} times', mend="Give each its own name.", file=file, field=what
            )


def _attitudes(design: Design, file: str) -> Iterator[FuelsysError]:
    yield from _names("attitude", [a.name for a in design.attitude], file)
    for phase in ("ground", "flight"):
        normal = [a.name for a in design.attitude if a.normal and a.phase == phase]
        if len(normal) != 1:
            found = f"{len(normal)} attitudes are marked as the normal one for {phase}" + (
                f" ({', '.join(normal)})" if normal else ""
            )
            mend = f'Mark exactly one attitude with phase = "{phase}" by normal = true.'
            yield FuelsysError(found, mend=mend, file=file, field="attitude")
    for attitude in design.attitude:
        if attitude.attitude.up[2] <= 0.0:
            yield FuelsysError(
                f'"{attitude.name}" is upside down or on its side',
                mend="Give pitch and roll within 90 deg; inverted flight is not modelled.",
                file=file,
                field="attitude",
            )


def _flows(design: Design, file: str) -> Iterator[FuelsysError]:
    if design.fuel.reserve_phase not in design.flows_m3_s:
        yield FuelsysError(
            f'found "{design.fuel.reserve_phase}"',
            mend=f"Name one of the flows: {', '.join(design.flows_m3_s)}.",
            file=file,
            field="fuel.reserve_phase",
        )


def _tank(tank: Tank, file: str) -> Iterator[FuelsysError]:
    yield from _names(
        f"tank {tank.name}", [p.name for p in tank.ports] + [f"switch {s.name}" for s in tank.switch], file
    )
    if tank.dipstick and tank.dipstick.top_m == tank.dipstick.bottom_m:
        yield FuelsysError(
            "top and bottom are one point",
            mend="Give the stick's two ends.",
            file=file,
            field=f"tank {tank.name}.dipstick",
        )


def _ends(design: Design, file: str) -> Iterator[FuelsysError]:
    ports = {f"{tank.name}.{port.name}" for tank in design.tank for port in tank.ports}
    components = {component.name for component in design.component}
    for line in design.line:
        for key, end in (("from", line.from_port), ("to", line.to_port)):
            if end not in ports | components:
                known = ", ".join(sorted(ports | components)) or "none yet"
                yield FuelsysError(
                    f'there is no port or component "{end}"',
                    mend=f'Write "TANK.PORT" or a component\'s name; there are: {known}.',
                    file=file,
                    field=f"line {line.name}.{key}",
                )
