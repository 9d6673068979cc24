"""The questions that the program answers, in the order of work: the one list of them, kept by hand.

A question NAME has its record in `model/found/NAME.py`, what computes it in `ROOM/NAME.py`, its tables in `report/tables/NAME.py`, its
picture in `report/charts/NAME.py` and its command in `cli/NAME.py`; the keys of its tables stand in `tests/json_form.json`.
`tests/whole/test_questions.py` holds that each of these columns is whole. A command that is no question (`check`, `review`, ...)
computes nothing of its own: it judges, prints or writes what the questions found, and stands in `cli/main.py` alone.
"""

from __future__ import annotations

from typing import NamedTuple


class Question(NamedTuple):
    """One question: its name on every floor, the first line of its help, the room that computes it."""

    name: str
    asks: str
    room: str
    no_picture: str = ""  # why it has none
    sheet: str = ""  # the room under report/ that writes it instead of tables and a picture
    on_page: bool = False  # its tables stand in every review


QUESTIONS = (
    Question("mesh", "Examine a mesh: is it a sound cavity, what is wrong and where; mend it.", "load/meshes"),
    Question(
        "capacity", "Show what the tanks hold: gross, expansion space, fillable, unusable, usable.", "analysis/tank",
        no_picture="the chart of levels shows its volumes", on_page=True,
    ),
    Question("levels", "Show volume against level at any pitch and roll.", "analysis/tank", on_page=True),
    Question("unusable", "Show what stays behind at each attitude, and where.", "analysis/tank", on_page=True),
    Question(
        "switches", "Show what is left when each low-level switch trips and resets.", "analysis/tank", on_page=True
    ),
    Question(
        "flow", "Show what the feed lines bring to the engine, to pumps and into tanks.", "analysis/lines", on_page=True
    ),
    Question(
        "fly", "Fly the design until the engine gets air: what is in each tank, and what each lamp is worth.",
        "analysis/flights",
    ),
    Question(
        "balance", "Show the fuel's mass and centre of gravity against its quantity.", "analysis/flights",
    ),
    Question("place", "Find where a low-level mark must sit for a target of minutes.", "analysis/tank"),
    Question(
        "tolerance", "Show how the answers spread when what is built is not what was drawn.", "analysis/sweeping"
    ),
    Question("map", "Show what stays behind over a grid of pitch and roll.", "analysis/sweeping"),
    Question("dipstick", "Show the graduations of each tank's dipstick.", "analysis/tank", on_page=True),
    Question(
        "gauge", "Show how to calibrate each tank's gauge, and its error at each attitude.", "analysis/tank"
    ),
    Question(
        "drill", "Write the sheet that a tank is drilled by before it is closed.", "analysis/tank", sheet="report/drill"
    ),
    Question("filltest", "Correct the model by filling the finished tank in measured steps.", "analysis/fills"),
)  # fmt: skip
