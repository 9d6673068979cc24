"""The explorer in the page, in Chromium: it shows the page's figures, asks for nothing, prints nothing, and knows when to go."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import datetime
from math import degrees
from pathlib import Path
from typing import Any

import designs
import pytest
from browser import Page, browser, needs_browser
from click.testing import CliRunner
from commands import demo_study

import fuelsys_cli.review as reviewing
from fuelsys import review
from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.model.found.study import Study
from fuelsys.model.found.switches import left_text
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts.map import turned_like
from fuelsys.report.drawing.ink import minus
from fuelsys.report.page import explorer
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown

MADE = datetime(2026, 1, 2)
REST = (
    "const rest = (ms) => new Promise((done) => setTimeout(done, ms)); const one = (id) => document.getElementById(id);"
)
REST += "const frame = async () => { for (let k = 0; k < 3; k++) await new Promise(requestAnimationFrame); };"
FIGURES = "return Object.fromEntries([...document.querySelectorAll('#ex-figures > div')].map("
FIGURES += "(row) => [...row.children].map((part) => part.textContent)));"


def html_of(study: Study, shown: Shown, asked: bool | None = None) -> str:
    return page(study, [], {}, {}, MADE, "1", shown, asked)


@pytest.fixture(scope="module")
def demo() -> Study:
    return demo_study()


@pytest.fixture(scope="module")
def open_page() -> Iterator[Page]:
    with browser() as found:
        yield found


def opened(chromium: Page, html: str, folder: Path, fragment: str = "") -> Page:
    file = folder / "index.html"
    file.write_text(html, encoding="utf-8")
    chromium.open(file, fragment)
    assert chromium.asked_for[0].startswith("file:")
    return chromium


def act(chromium: Page, words: str) -> Any:
    return chromium.run(f"{REST} {words}")


@needs_browser
def test_it_opens_and_asks_for_nothing(demo: Study, open_page: Page, tmp_path: Path) -> None:
    chromium = opened(open_page, html_of(demo, Shown()), tmp_path)
    act(
        chromium,
        "for (const button of document.querySelectorAll('.explorer button')) { button.click(); await frame(); }",
    )
    assert "135 answers of this page" in act(chromium, "return one('ex-proved').textContent")
    act(chromium, "await rest(700)")
    assert chromium.asked_for == [(tmp_path / "index.html").as_uri()]
    assert chromium.logged == []
    assert act(
        chromium, "return [...document.querySelectorAll('canvas')].every((canvas) => canvas.getAttribute('aria-label'))"
    )


@needs_browser
@pytest.mark.parametrize(
    "shown", [Shown(), Shown("US gal", "in"), Shown(coarse=True), Shown("US gal", "in", coarse=True)]
)
def test_named_attitudes_show_the_figures_of_the_tables(
    demo: Study, shown: Shown, open_page: Page, tmp_path: Path
) -> None:
    chromium = opened(open_page, html_of(demo, shown), tmp_path)
    for k, tank in enumerate(demo.tanks):
        assert tank.capacity.unusable
        act(chromium, f"one('ex-tanks').children[{k}].click(); await frame();")
        for i, at in enumerate(tank.capacity.unusable.at):
            found = act(chromium, f"one('ex-attitudes').children[{i}].click(); await frame(); {FIGURES}")
            residual, trapped = (shown.figure(held, "volume") for held in (at.residual_m3, at.trapped_m3))
            expected = f"{shown.text(at.unusable_m3, 'volume')} {residual} residual, {trapped} trapped"
            assert found["stays behind at this attitude"] == expected
            for switch in tank.switches:
                trip = switch.at[i].trip_m3
                word = "never trips here" if trip is None else f"trips at {shown.text(trip, 'volume')}"
                assert found[f"switch {switch.name}"].endswith(word)


@needs_browser
def test_minutes_are_those_of_the_study(demo: Study, open_page: Page, tmp_path: Path) -> None:
    chromium = opened(open_page, html_of(demo, Shown()), tmp_path)
    header = demo.tank("header")
    act(chromium, "one('ex-tanks').children[2].click(); one('ex-attitudes').children[2].click(); await frame();")
    for k, switch in enumerate(header.switches):
        found = act(chromium, f"one('ex-quantities').children[{1 + k}].click(); await frame(); {FIGURES}")
        trip = switch.normal.trip_m3
        usual, least = switch.minutes(trip), switch.least_minutes(trip)
        assert usual is not None
        assert least is not None
        assert found["minutes left, usual (cruise, 21 L/h)"].startswith(left_text(usual))
        assert found["minutes left, least"].startswith(left_text(least))
    # Where the surface stands at the mark the switch trips; a drop more fuel and it is wet.
    more = "one('ex-quantity-number').value = Number(one('ex-quantity-number').value) + 0.01;"
    more += "one('ex-quantity-number').dispatchEvent(new Event('input'));"
    found = act(chromium, f"{more} await frame(); {FIGURES}")
    assert [found[f"switch {s.name}"].split(";")[0] for s in header.switches] == ["dry", "dry", "wet"]


@needs_browser
def test_where_nothing_flows_no_minutes_are_left(demo: Study, open_page: Page, tmp_path: Path) -> None:
    """Beyond the stated attitudes more stays behind than the tank's unusable fuel: it counts for nothing then."""
    chromium = opened(open_page, html_of(demo, Shown()), tmp_path, "#explorer/left/pitch-12/roll-9/20L")
    found = act(chromium, f"await frame(); {FIGURES}")
    tank = demo.tank("left").tank
    left = left_at(tank.cavity, Attitude.of_degrees(-12.0, -9.0), outlets(tank))
    assert left.unusable_m3 > 20e-3
    assert found["in the tank"] == f"{left.unusable_m3 * 1e3:.3f} L"
    assert found["usable at this attitude"] == "0 L"
    assert found["minutes left, usual (cruise, 21 L/h)"] == "0.0 min above what stays behind here"
    assert found["minutes left, least"].startswith("0.0 min")
    said = act(chromium, "return one('ex-note').textContent")
    assert said.startswith("Drained from full at this attitude it keeps")
    assert "Outside the attitudes that the design states." in said


@needs_browser
def test_sliders_map_keys_and_links(demo: Study, open_page: Page, tmp_path: Path) -> None:
    chromium = opened(open_page, html_of(demo, Shown()), tmp_path)
    start = "one('ex-attitudes').children[2].click(); await frame();"
    state = "await frame(); return [Number(one('ex-pitch-number').value), Number(one('ex-roll-number').value)];"

    def key(of: str, name: str, more: str = "") -> str:
        return f"one('{of}').dispatchEvent(new KeyboardEvent('keydown', {{ key: '{name}', cancelable: true {more} }}));"

    assert act(chromium, start + key("ex-pitch", "ArrowDown") + state) == [0.5, 0.0]
    assert act(chromium, start + key("ex-roll", "PageUp") + state) == [1.0, 5.0]
    assert act(chromium, start + key("ex-map", "ArrowUp") + state) == [1.5, 0.0]
    assert act(chromium, start + key("ex-map", "ArrowLeft", ", shiftKey: true") + state) == [1.0, -5.0]
    typed = (
        "const box = one('ex-pitch-number'); box.focus(); box.value = '-7.3'; box.dispatchEvent(new Event('input'));"
    )
    assert act(chromium, start + typed + state) == [-7.3, 0.0]
    assert act(chromium, "one('ex-pitch').value = 4.25; one('ex-pitch').dispatchEvent(new Event('input'));" + state)[
        0
    ] in (4.2, 4.3)
    box = act(
        chromium,
        "one('ex-map').scrollIntoView(); await frame();"
        "const box = one('ex-map').getBoundingClientRect(); return [box.x, box.y, box.width, box.height];",
    )
    middle = {"x": box[0] + 34 + (box[2] - 42) / 2, "y": box[1] + 6 + (box[3] - 36) / 2}  # the frame's margins
    for kind, by in (("mousePressed", 0), ("mouseMoved", (box[2] - 42) / 8), ("mouseReleased", (box[2] - 42) / 8)):
        moved = {"type": kind, "x": middle["x"] + by, "y": middle["y"], "button": "left", "buttons": 1, "clickCount": 1}
        chromium.set("Input.dispatchMouseEvent", **moved)
    pitch, roll = act(chromium, state)
    assert abs(pitch) <= 0.1
    assert roll == pytest.approx(5.0, abs=0.1)  # an eighth of 40 degrees
    act(chromium, "one('ex-quantities').children[0].click(); await rest(900);")
    link = act(chromium, "return one('ex-link').getAttribute('href')")
    assert link == act(chromium, "return location.hash")
    assert re.fullmatch(r"#explorer/left/pitch-?[\d.]+/roll[\d.]+/[\d.]+L", link)
    aloud = act(chromium, "return one('ex-aloud').textContent")
    chromium.open(
        tmp_path / "index.html", link.replace("#explorer", "#")
    )  # another address first: it must be read anew
    chromium.open(tmp_path / "index.html", link)
    assert act(chromium, "await rest(900); return one('ex-aloud').textContent") == aloud
    for bad in (
        "#explorer/nobody/pitch1/roll1/1L",
        "#explorer/left/pitch1.1.1/roll0/1L",
        "#explorer/%/pitch1/roll0/1L",
        "#explorer/left/pitch900/roll0/9e9L",
    ):
        act(chromium, f"location.hash = {json.dumps(bad)}; await frame();")
    assert chromium.logged == []


@needs_browser
def test_it_goes_where_one_answer_is_another(demo: Study, open_page: Page, tmp_path: Path) -> None:
    html = html_of(demo, Shown())
    text = re.search(r'id="explorer-data">(.*?)</script>', html, re.S)
    assert text
    for change in ("residual", "switch"):
        data = json.loads(text[1])
        tank = data["tanks"][2]
        if change == "residual":
            tank["answers"][4]["residual"] += 2e-9 * tank["gross"]
        else:
            tank["answers"][4]["switches"][1][1] = None
        chromium = opened(open_page, html.replace(text[1], explorer.in_script(data)), tmp_path)
        said = act(chromium, "return one('ex-said').textContent")
        assert said.startswith("The explorer has taken itself away: tank header, steep climb: ")
        assert ("residual fuel" if change == "residual" else "switch 10 min, latest trip") in said
        assert act(chromium, "return document.getElementById('ex-body')") is None
    data = json.loads(text[1])
    data["tanks"][2]["answers"][4]["residual"] += 0.5e-9 * data["tanks"][2]["gross"]
    chromium = opened(open_page, html.replace(text[1], explorer.in_script(data)), tmp_path)
    assert act(chromium, "return one('ex-said').textContent") == ""


WILD = '</script><img src=x onerror="boom()"> & <!-- &lt; "\''


@needs_browser
def test_names_are_text_wherever_they_stand(open_page: Page, tmp_path: Path) -> None:
    tank = {"name": WILD, "switch": [{**one, "name": f"{WILD} {k}"} for k, one in enumerate(designs.HEADER["switch"])]}
    for kind in ("outlet", "vent", "drain", "inlet"):
        tank[kind] = [{**one, "name": f"{kind} {WILD}"} for one in designs.HEADER[kind]]
    attitudes = [{**one, "name": f"{WILD} {k}"} for k, one in enumerate(designs.ATTITUDES)]
    changes = {
        "aircraft": {**designs.BASE["aircraft"], "name": WILD, "datum": WILD},
        "fuel": {**designs.BASE["fuel"], "reserve_phase": WILD},
        "flows": {**designs.BASE["flows"], WILD: "18 L/h"},
        "attitude": attitudes,
        "tank": [{**designs.HEADER, **tank}],
        "line": [],
        "component": [],
    }
    study = review.study(designs.layout_of(tmp_path, changes))
    html = html_of(study, Shown())
    assert html.count("</script>") == 3
    chromium = opened(open_page, html, tmp_path)
    for button in range(9):
        act(chromium, f"document.querySelectorAll('.explorer button')[{button}].click(); await frame();")
    act(chromium, "await rest(700)")
    assert act(chromium, "return document.querySelectorAll('img, [onerror]').length") == 0
    assert act(chromium, "return one('ex-tanks').textContent") == f"Tank {WILD}"
    assert act(chromium, f"return one('ex-aloud').textContent.includes({json.dumps(WILD)})")
    found = act(chromium, FIGURES)
    assert f"switch {WILD} 1" in found
    assert act(
        chromium,
        "location.hash = one('ex-link').getAttribute('href'); await rest(700); return one('ex-tanks').textContent",
    )
    assert chromium.logged == []
    assert len(chromium.asked_for) == 1


@needs_browser
def test_it_is_not_printed(demo: Study, open_page: Page, tmp_path: Path) -> None:
    prints = []
    for asked in (None, False):
        chromium = opened(open_page, html_of(demo, Shown(), asked), tmp_path)
        prints.append(len(re.findall(rb"/Type\s*/Page\b", chromium.pdf())))
        chromium.set("Emulation.setEmulatedMedia", media="print")
        assert act(chromium, "return document.getElementById('explorer')?.offsetHeight ?? 0") == 0
        chromium.set("Emulation.setEmulatedMedia", media="")
    assert prints[0] == prints[1] > 1


@needs_browser
@pytest.mark.parametrize("width", [390, 1400])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_and_can_be_read(width: int, scheme: str, demo: Study, open_page: Page, tmp_path: Path) -> None:
    chromium = opened(open_page, html_of(demo, Shown()), tmp_path)
    chromium.set("Emulation.setDeviceMetricsOverride", width=width, height=844, deviceScaleFactor=2, mobile=False)
    chromium.set(
        "Emulation.setEmulatedMedia", media="screen", features=[{"name": "prefers-color-scheme", "value": scheme}]
    )
    wide = act(
        chromium,
        "await rest(300); const all = [...document.querySelectorAll('.explorer *')], rim = one('explorer').getBoundingClientRect();"
        "const seen = all.filter((part) => part.offsetParent && !part.closest('#ex-attitudes, .ex-aloud'));"  # a strip that scrolls
        "return [rim.width, ...seen.map((part) => part.getBoundingClientRect().right - rim.right)];",
    )
    assert wide[0] <= width
    assert max(wide[1:]) <= 0.5
    colours = act(
        chromium,
        "const s = getComputedStyle(one('explorer')); return ['color', 'backgroundColor'].map((k) => s[k].match(/\\d+/g).map(Number));",
    )
    light = [sum(colour) / 765 for colour in colours]
    assert (light[0] < light[1]) == (scheme == "light")
    assert abs(light[0] - light[1]) > 0.7
    chromium.set("Emulation.clearDeviceMetricsOverride")
    chromium.set("Emulation.setEmulatedMedia", media="")


def test_many_triangles_are_left_out_unless_asked_for(demo: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "explorer-data" in html_of(demo, Shown())
    monkeypatch.setattr(explorer, "MOST_TRIANGLES", 6_000)
    html = html_of(demo, Shown())
    assert "<script" not in html
    triangles = sum(len(tank.tank.cavity.faces) for tank in demo.tanks)
    assert f"have {triangles:,}".replace(",", "\u202f") in html
    assert "fuelsys review --explorer" in html
    assert "explorer-data" in html_of(demo, Shown(), True)
    assert 'id="explorer"' not in html_of(demo, Shown(), False)


@pytest.mark.parametrize(("flags", "asked"), [([], None), (["--explorer"], True), (["--no-explorer"], False)])
def test_the_command_hands_on_what_is_asked(
    flags: list[str], asked: bool | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: list[bool | None] = []
    monkeypatch.setattr("fuelsys.report.page.folder.write_review", lambda *_, explorer, **__: given.append(explorer))
    file = designs.layout_of(tmp_path, {}).file
    into = ["--into", str(tmp_path / "out"), "--no-failures"]
    done = CliRunner().invoke(reviewing.command, [str(tmp_path / file), *into, *flags])
    assert done.exit_code == 0, done.output
    assert given == [asked]


def test_without_an_outlet_there_is_none(tmp_path: Path) -> None:
    gone = {"tank.0.outlet": [], "tank.1.outlet": [], "line": [], "component": []}
    assert 'id="explorer"' not in html_of(review.study(designs.layout_of(tmp_path, gone)), Shown())


def test_the_data_say_the_attitudes_as_the_map_does(demo: Study) -> None:
    told = explorer.data(demo.layout, list(demo.tanks), Shown())
    for attitude, said in zip(demo.layout.design.envelope, told["attitudes"], strict=True):
        assert [said["pitch"], said["roll"]] == pytest.approx([degrees(angle) for angle in turned_like(attitude)])
        assert said["heading"] == minus(attitude.heading)
