"""Chapters of a review's page: one tank's, or the whole aircraft's, with what of their drawings and tables is printed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from fuelsys.model.found.exchange import Exchange
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.words import Doubt
from fuelsys.report.drawing.ink import AT
from fuelsys.report.page.sentences import sentence
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table
from fuelsys.report.tables.exchange import in_all

_NARROW = 3  # columns
_SCREEN = (
    "Volume against level",
    "Dipstick",
    "Fuel that stays at each attitude, sheet",
)  # drawings that are not for paper
_STAYS = ("Unusable fuel over pitch and roll", "Fuel that stays at each attitude")
_MINUTES = "Minutes left when each switch trips"
PLACED = re.compile(rf' id="{AT}(\d+)"')  # a finding's number on a drawing


@dataclass(frozen=True)
class Drawn:
    """A drawing as it stands in the page, with what it shows in a sentence."""

    title: str
    svg: Markup
    sentence: str


@dataclass(frozen=True)
class Chapter:
    """One tank, or the whole aircraft: its main figures (heading, value), its drawings and its tables."""

    name: str
    figures: tuple[tuple[str, str], ...]
    opening: tuple[Drawn, ...]
    tables: tuple[tuple[Table, ...], ...]
    drawings: tuple[Drawn, ...]
    warnings: tuple[str, ...] = ()
    looked_up: tuple[Drawn, ...] = ()
    stays: str = ""


def chapter(
    study: Study,
    tank: TankStudy,
    tables: Sequence[Table],
    drawings: Mapping[str, str],
    shown: Shown,
    most_m3: float | None = None,
) -> Chapter:
    """One tank's chapter: its arrangement and its minutes first, the other drawings behind its tables.

    What stands elsewhere or on screens alone leaves its warnings here. most_m3 is the most that stays behind in a tank whose
    pictures of that are for screens.
    """
    every = inlined(drawings, study, tank, shown)
    aside = [one for one in every if for_screens(one.title) or (most_m3 is not None and one.title.startswith(_STAYS))]
    printed = tuple(one for one in every if one not in aside)
    looked_up = tuple(replace(one, title=f"{one.title}, tank {tank.name}") for one in aside)
    stays = (
        ""
        if most_m3 is None
        else f"About {shown.text(most_m3, 'volume')} stay behind at most, at any pitch and roll of the map."
    )
    first = 2 if _MINUTES in drawings else 1
    body = [table for table in tables if table.paper and not table.appendix]
    warnings, rows = left_behind(tables, body), side_by_side(body)
    return Chapter(
        tank.name, main_figures(study, tank, shown), printed[:first], rows, printed[first:], warnings, looked_up, stays
    )


def left_behind(tables: Sequence[Table], body: Sequence[Table]) -> tuple[str, ...]:
    """Warnings of a chapter's tables that no table of its body tells."""
    here = {note for table in body for note in table.notes}
    elsewhere = (note for table in tables if table not in body for note in table.notes)
    return tuple(dict.fromkeys(note for note in elsewhere if isinstance(note, Doubt) and note not in here))


def for_screens(title: str) -> bool:
    """Whether a drawing is one to look things up in, which is not printed: but for the first sheet of the attitudes.

    >>> for_screens("Volume against level"), for_screens("Fuel that stays at each attitude, sheet 1 of 2")
    (True, False)
    """
    return title.startswith(_SCREEN) and " sheet 1 of " not in title.removeprefix("Dipstick")


def side_by_side(tables: Sequence[Table]) -> tuple[tuple[Table, ...], ...]:
    """Rows of tables: two neighbours of few columns share one, each other table has its own."""
    rows: list[tuple[Table, ...]] = []
    for table in tables:
        narrow = len(table.columns) <= _NARROW
        if narrow and rows and len(rows[-1]) == 1 and len(rows[-1][0].columns) <= _NARROW:
            rows[-1] = (*rows[-1], table)
        else:
            rows.append((table,))
    return tuple(rows)


def main_figures(study: Study, tank: TankStudy, shown: Shown) -> tuple[tuple[str, str], ...]:
    """The volumes that a tank's chapter opens with; "not computed" where the design does not say what is needed."""
    held = tank.capacity
    unusable = None if held.unusable is None else held.unusable.volume_m3
    volumes = {
        "gross": held.gross_m3,
        "fillable": None if held.filled is None else held.filled.volume_m3,
        "unusable": unusable,
    }
    told = {name: volume_text(volume, shown) for name, volume in volumes.items()}
    return tuple((told | {"usable": usable_text(study.exchange, tank, shown)}).items())


def inlined(drawings: Mapping[str, str], study: Study, tank: TankStudy | None, shown: Shown) -> tuple[Drawn, ...]:
    """Drawings as they stand in HTML, which knows SVG without its namespace; a finding's number is linked to where it comes first."""
    known: set[str] = set()

    def first(match: re.Match[str]) -> str:
        again = match[0] in known
        known.add(match[0])
        return "" if again else match[0]

    return tuple(
        Drawn(
            title,
            Markup(re.sub(PLACED, first, re.sub(r' xmlns="[^"]*"', "", svg))),
            sentence(title, study, tank, shown),
        )
        for title, svg in drawings.items()
    )


def usable_text(of: Exchange, tank: TankStudy, shown: Shown) -> str:
    """A tank's usable fuel where it stands alone, marked where joined tanks have less together."""
    told, together = volume_text(tank.capacity.usable_m3, shown), in_all(of, tank.name, shown)
    return f"{told}*, together {together}" if together else told


def volume_text(volume_m3: float | None, shown: Shown) -> str:
    """A volume with its unit, as the tables print it."""
    if volume_m3 is None:
        return "not computed"
    return f"{shown.figure(volume_m3, 'volume')} {shown.written('volume')}"
