"""The one door to the drawing library: what a person has set for it elsewhere neither breaks nor changes our pictures."""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path as FilePath

_SETTINGS = "matplotlibrc"


@contextmanager
def _undisturbed() -> Iterator[None]:
    """While the library is imported it reads no settings: not the environment's, not the home's, not the working folder's.

    The working folder comes before all others and cannot be talked out of, so where such a file lies there we step aside.
    """
    stated = {name: os.environ.pop(name, None) for name in ("MPLBACKEND", "MATPLOTLIBRC")}
    os.environ["MATPLOTLIBRC"] = os.devnull
    here = os.getcwd() if os.path.lexists(_SETTINGS) else None
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # that its fonts are listed anew is no line of ours
    try:
        if here is not None:
            os.chdir(FilePath(__file__).parent)
        yield
    finally:
        if here is not None:
            os.chdir(here)
        del os.environ["MATPLOTLIBRC"]
        os.environ.update({name: value for name, value in stated.items() if value is not None})


with _undisturbed():
    import matplotlib as mpl
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties, findfont, get_font
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path
    from matplotlib.text import Text
    from matplotlib.ticker import MaxNLocator

__all__ = [
    "Axes", "Axis", "Figure", "FontProperties", "MaxNLocator", "Path", "PathPatch", "PdfPages", "Text", "findfont", "get_font", "mpl",
]  # fmt: skip
