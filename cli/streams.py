"""Standard output and standard error as they may be: closed, full, read by nobody, in an encoding without our letters."""

from __future__ import annotations

import codecs
import io
import os
import sys
from typing import TextIO

from fuelsys.errors import OutputError

_CLOSED = "Let it be, or send it into a file; > /dev/null throws it away."
# Letters that answers are written with -> how they are spelled where the encoding has none of them; all others become "?".
_PLAIN = {
    "─": "-", "━": "-", "│": "|", "°": " deg", "−": "-", "–": "-", "…": "...", "×": "x", "·": ".", "→": "->", "±": "+/-",
    "²": "2", "³": "3", "µ": "u", "μ": "u", "≤": "<=", "≥": ">=", "ü": "ue", "ö": "oe", "ä": "ae", "Ü": "Ue", "Ö": "Oe",
    "Ä": "Ae", "ß": "ss", "é": "e", "è": "e",
}  # fmt: skip
_NO_TERMINAL = 120  # columns of a file or a pipe
_ERRORS, _ASCII = "fuelsys-plain", "fuelsys-ascii"


def _spelled(fault: UnicodeError) -> tuple[str, int]:
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    return "".join(_PLAIN.get(letter, "?") for letter in fault.object[fault.start : fault.end]), fault.end


def _ascii(name: str) -> codecs.CodecInfo | None:
    """ASCII under a name of its own: what is called ASCII is taken for a mistake by the commands' library, which writes UTF-8."""
    if name.replace("_", "-") != _ASCII:
        return None
    plain = codecs.lookup("ascii")
    return codecs.CodecInfo(
        plain.encode, plain.decode, plain.streamreader, plain.streamwriter, plain.incrementalencoder,
        plain.incrementaldecoder, name=_ASCII,
    )  # fmt: skip


class _Stream(io.TextIOWrapper):
    """A standard stream whose faults are a line, not a traceback; where even that cannot be said, it falls silent."""

    fault: OutputError | None = None

    def write(self, text: str) -> int:
        """Write, or say that nothing can be written."""
        if self.fault:
            raise self.fault
        try:
            return super().write(text)
        except OSError as fault:
            self._failed(fault)
            return len(text)

    def flush(self) -> None:
        """Pass on what was written, or say that this cannot be done."""
        try:
            super().flush()
        except OSError as fault:
            self._failed(fault)

    def _failed(self, fault: OSError) -> None:
        """Nobody reads on (head has seen enough): then be quiet and go on to the exit code; else it is told on standard error."""
        told = self.fileno() == 1 and not isinstance(fault, BrokenPipeError)
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self.fileno())
        os.close(nowhere)
        super().flush()
        if told:
            found = f"the answer cannot be written ({fault.strerror})"
            self.fault = OutputError(found, mend="Send it elsewhere.", file="standard output")
            raise self.fault from fault


def columns() -> int:
    """How wide the terminal is: what COLUMNS says, else the terminal on standard output itself, else 120.

    shutil's own answer is always the last, since the stream that Python began with has been taken apart here.
    """
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said) > 0:
        return int(said)
    try:
        return os.get_terminal_size(1).columns or _NO_TERMINAL
    except OSError:
        return _NO_TERMINAL


def coloured() -> bool:
    """Is the answer read in a terminal, by somebody who has not said NO_COLOR?"""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def prepare() -> None:
    """Make the standard streams safe to write to; OutputError where standard output is closed."""
    out_closed = sys.stdout is None
    _fill()
    codecs.register_error(_ERRORS, _spelled)
    codecs.register(_ascii)
    sys.stdout, sys.stderr = _safe(sys.stdout, 1), _safe(sys.stderr, 2)
    if out_closed:
        raise OutputError("it is closed, so no answer can be written", mend=_CLOSED, file="standard output")


def _fill() -> None:
    """Open what is closed of the three on nothing: the next file to be opened would else take its place."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        pass
    os.close(number)


def _safe(stream: TextIO | None, number: int) -> TextIO:
    """A standard stream with our ways of failing; one that a program has put in its place stays."""
    if stream is None:
        return _Stream(os.fdopen(number, "wb"), encoding="utf-8")
    if type(stream) is not io.TextIOWrapper:
        return stream
    encoding = _ASCII if codecs.lookup(stream.encoding).name == "ascii" else stream.encoding
    whole, at_lines = stream.write_through, stream.line_buffering
    return _Stream(stream.detach(), encoding, _ERRORS, None, at_lines, whole)
