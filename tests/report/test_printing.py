"""The page as a PDF: its paper, its scale measured in what was printed, and what is said where no browser is there."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from browser import needs_browser
from commands import demo_study
from matplotlib.image import imread

from fuelsys.errors import QuestionError
from fuelsys.report.charts import drawings
from fuelsys.report.charts.dipstick import dipstick
from fuelsys.report.page import printing
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown

# Points of 1/72 inch; the papers' sizes of ISO 216 and ASME Y14.1, from memory
SIZES = {"a4": (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0), "letter": (612.0, 792.0)}
COARSE = Shown(coarse=True)
DPI = 600


@pytest.fixture(scope="module")
def html() -> bytes:
    """The example's page with nothing on it but a dipstick, under a title of its own: one called Dipstick is for screens."""
    study = demo_study()
    tank = next(one for one in study.tanks if one.dipstick is not None)
    assert tank.dipstick is not None
    drawn = drawings.as_svg({tank.name: {"At full size": dipstick(tank.tank, [tank.dipstick], COARSE)[0]}})
    return page(study, [], {}, drawn, datetime(2026, 1, 1), "0", COARSE, False).encode()


def told(*command: object) -> str:
    return subprocess.run(list(map(str, command)), capture_output=True, text=True, check=True).stdout


@needs_browser
@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="measures the PDF with poppler's programs")
@pytest.mark.parametrize("paper", printing.PAPERS)
def test_the_check_line_is_true(html: bytes, paper: str, tmp_path: Path) -> None:
    pdf, picture = tmp_path / "page.pdf", tmp_path / "page"
    pdf.write_bytes(printing.as_pdf(html, paper))
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", told("pdfinfo", pdf))
    assert size is not None
    assert [float(part) for part in size.groups()] == pytest.approx(SIZES[paper], abs=1.0)
    pages = told("pdftotext", pdf, "-").split("\f")
    number = next(k for k, words in enumerate(pages, 1) if re.search(r"^check: 100", words, re.M))
    place = re.search(
        r'xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>check:<',
        told("pdftotext", "-bbox", "-f", number, "-l", number, pdf, "-"),
    )
    assert place is not None
    right = int(float(place[1]) * DPI / 72)
    told(
        "pdftoppm",
        *f"-r {DPI} -gray -png -singlefile -f {number} -l {number} -x {right - 170} -W 165".split(),
        pdf,
        picture,
    )
    dark = np.asarray(imread(picture.with_suffix(".png")))
    dark = (dark if dark.ndim == 2 else dark[..., 0]) < 0.5
    ends = np.diff(np.pad(dark.astype(int), ((1, 1), (0, 0))), axis=0)
    longest = max(int((np.flatnonzero(column < 0) - np.flatnonzero(column > 0)).max(initial=0)) for column in ends.T)
    # the end ticks, 0.6 points thick, stand out by half of it at either end
    assert longest / DPI * 25.4 - 0.6 / 72.0 * 25.4 == pytest.approx(100.0, abs=0.2)


def filled(pdf: Path, high_pt: float) -> list[tuple[float, str]]:
    """How far down each page is filled between its margins (13 and 15 mm), and the words that it opens with."""
    top, foot = 13.0 / 25.4 * 72.0, high_pt - 15.0 / 25.4 * 72.0
    found = []
    for one in told("pdftotext", "-bbox", pdf, "-").split("<page ")[1:]:
        words = [(float(y), word) for y, word in re.findall(r'yMax="([\d.]+)">([^<]*)<', one)]
        body = [(y, word) for y, word in words if y < foot]
        found.append(((max(y for y, _ in body) - top) / (foot - top), " ".join(word for _, word in body[:3])))
    return found


def test_without_a_browser_it_is_refused_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(QuestionError, match="no browser that prints is installed") as caught:
        printing.browser()
    assert len(caught.value.lines) == 1


@pytest.mark.parametrize(
    "script", ["exit 1", "exit 0", 'for a; do case $a in --print-to-pdf=*) echo no > "${a#*=}";; esac; done']
)
def test_a_browser_that_does_not_print_is_a_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    fake = tmp_path / "chromium"
    fake.write_text(f"#!/bin/sh\n{script}\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(QuestionError, match="did not print the page"):
        printing.as_pdf(b"<html><head></head></html>", "a4")
