"""A drawing as the bytes of a picture file."""

from __future__ import annotations

import io

from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure

_DPI = 200


def as_bytes(figure: Figure, kind: str) -> bytes:
    """A figure as a PNG or SVG file, by the name's ending; the same drawing gives the same bytes."""
    if kind.lower() == ".svg":
        return ink.svg_text(figure).encode("utf-8")
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=_DPI, facecolor="white", metadata={"Software": None})
    return buffer.getvalue()
