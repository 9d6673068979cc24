"""All errors a person can cause, in one tree; anything else that is raised is a fault of the program.

FuelsysError
├── UnitError        a quantity's text cannot be read
├── MeshError        a mesh file does not hold one closed cavity
├── DesignError      a design file does not say what is needed
├── SheetError       a fill test's sheet cannot be read
├── QuestionError    a question has no answer for this design
└── OutputError      an answer cannot be written where it was asked for
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches


def meant(found: str, known: Iterable[str]) -> str:
    """The known name that a mistyped one comes nearest to, as a question before the mend; empty where none is near.

    >>> meant("capcity", ["levels", "capacity"]), meant("loop", ["climb"])
    ('Is "capacity" meant? ', '')
    """
    names = {name.lower(): name for name in known}
    near = get_close_matches(found.lower(), list(names), 1, cutoff=0.78)
    return f'Is "{names[near[0]]}" meant? ' if near and names[near[0]] != found else ""


class FuelsysError(Exception):
    """One fault: where it was found, what was found and wanted, and what to do about it.

    >>> str(FuelsysError("no faces", mend="Export the surface again.", file="left.stl"))
    'left.stl: no faces. Export the surface again.'
    """

    def __init__(self, found: str, *, mend: str, file: str = "", field: str = "") -> None:
        self.found, self.mend, self.file, self.field = found, mend, file, field
        super().__init__(str(self))

    def __str__(self) -> str:
        place = ": ".join(part for part in (self.file, self.field) if part)
        text = f"{self.found.rstrip('.')}. {self.mend}"
        return " ".join((f"{place}: {text}" if place else text).split())

    @property
    def lines(self) -> list[str]:
        """One line for each fault."""
        return [str(self)]


class UnitError(FuelsysError):
    """A quantity that cannot be read."""


class UnknownUnitError(UnitError):
    """A number with a unit that is none of its kind."""


class MeshError(FuelsysError):
    """A mesh that is not one closed cavity."""


class NoFileError(MeshError):
    """A file that is not there."""


class BodiesError(MeshError):
    """A file of several bodies, one of which is to be picked."""


class SheetError(FuelsysError):
    """A fill test's sheet that cannot be read."""


class QuestionError(FuelsysError):
    """A question that this design cannot answer; needs says what is not stated, where that is why."""

    def __init__(self, found: str, *, mend: str, file: str = "", field: str = "", needs: str = "") -> None:
        self.needs = needs
        super().__init__(found, mend=mend, file=file, field=field)


class OutputError(FuelsysError):
    """A place that cannot be written."""


class DesignError(FuelsysError):
    """A design file with faults: all of them at once."""

    def __init__(self, faults: Sequence[FuelsysError]) -> None:
        self.faults = tuple(faults)
        first = self.faults[0]
        super().__init__(first.found, mend=first.mend, file=first.file, field=first.field)

    @property
    def lines(self) -> list[str]:
        """One line for each fault, in the file's order."""
        return [str(fault) for fault in self.faults]
