"""The page's template, and texts as HTML and style sheets have them."""

from __future__ import annotations

import re

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup, escape

from fuelsys.report.drawing.ink import minus, unbroken
from fuelsys.report.page.explorer import resource


def prose(text: str) -> Markup:
    """A text as a page shows it: figures together with their units, minus signs, and what is typed set as such.

    >>> prose("`fuelsys place` <3 L")
    Markup('<code>fuelsys place</code> &lt;3\\xa0L')
    """
    return Markup(re.sub("`([^`]*)`", r"<code>\1</code>", str(escape(unbroken(minus(text))))))


def template() -> Template:
    """The page's, which escapes whatever it is given and knows no name that it is not given."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters.update(css_text=_css_text)
    return environment.from_string(resource("page.html.jinja"))


def _css_text(text: str) -> Markup:
    """Text within a quoted string of a style sheet: everything but letters, digits and spaces as code points.

    >>> print(_css_text('a "b" c').replace(chr(92), "!"))
    a !22 b!22  c
    """
    return Markup("".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in text))
