"""A drawing as the bytes of a picture file."""

from __future__ import annotations

import io
from collections.abc import Sequence

from matplotlib.backends.backend_pdf import PdfPages

from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure

_DPI = 200
PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def as_bytes(figure: Figure, kind: str) -> bytes:
    """A figure as a PNG or SVG file, by the name's ending; the same drawing gives the same bytes."""
    if kind.lower() == ".svg":
        return ink.svg_text(figure).encode("utf-8")
    buffer = io.BytesIO()
    ink.as_on_a_page(figure)
    figure.savefig(buffer, format="png", dpi=_DPI, facecolor="white", metadata={"Software": None})
    return buffer.getvalue()


def on_paper(figure: Figure, paper: str) -> Figure:
    """A drawing in mm of its own size, in the middle of a sheet of paper at the same scale."""
    width_mm, height_mm = PAPERS_MM[paper]
    wide, high = (float(inches) * 25.4 for inches in figure.get_size_inches())
    (axes,) = figure.axes
    left, low = (width_mm - wide) / 2.0, (height_mm - high) / 2.0
    axes.set_position((left / width_mm, low / height_mm, wide / width_mm, high / height_mm))
    figure.set_size_inches(width_mm / 25.4, height_mm / 25.4)
    return figure


def as_pdf(figures: Sequence[Figure], paper: str) -> bytes:
    """Drawings as a PDF, one to each sheet of a paper ("a4" or "letter"), at full size."""
    buffer = io.BytesIO()
    with PdfPages(buffer, metadata={"CreationDate": None, "Creator": None, "Producer": None}) as pages:
        for figure in figures:
            ink.as_on_a_page(figure)
            pages.savefig(on_paper(figure, paper), facecolor="white")
    return buffer.getvalue()
