"""The answer that a review opens with: may each tank be closed, what stands against it, in which order, and on which screens."""

from __future__ import annotations

import inspect
import json
import re
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from html import escape, unescape
from pathlib import Path
from typing import Any

import designs
import pytest
from designs import ATTITUDES, MAIN, _attitude, _mm
from test_drawings import Outline

from fuelsys import review
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Finding, Outcome, Reach, Rule, Stake
from fuelsys.model.found.study import Study
from fuelsys.model.words import Doubt, Quantity
from fuelsys.report.jobs import jobs
from fuelsys.report.page import contents
from fuelsys.report.page.page import page
from fuelsys.report.page.reading import folded, same_of
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.verdict import Answer, Verdict, answer, tanks_of, verdict
from fuelsys.rules import ALL
from fuelsys.rules.words import rule

DEMO = Path(__file__).parents[2] / "meshes" / "taildragger.toml"
COARSE = Shown(coarse=True)
# The base design with what its own findings ask for: combined attitudes stated, the marks raised for what is returned.
SLIPS = [(f"{pitch:+d} {roll:+d}", pitch, roll) for pitch in (13, -10) for roll in (6, -6)]
SOUND = {
    "attitude": [*ATTITUDES, *(_attitude(name, "flight", pitch, roll) for name, pitch, roll in SLIPS)],
    "tank.1.switch.0.mark": _mm(100, 80, 205),
    "tank.1.switch.1.mark": _mm(100, 80, 125),
    "aircraft.lamps_own_power": True,
    # From less than full: full tanks have so little air that a blocked vent stops the engine in minutes.
    "flight": [{"name": "short", "attitude": "cruise", "flow": "cruise", "loaded": {"main": "8 L"}}],
}
# A mesh, its place, and the fields that a design cannot do without.
STARTED = {
    "tank": [{key: MAIN[key] for key in ("name", "mesh", "unit", "axes", "position")}],
    "component": [],
    "line": [],
}


@dataclass(frozen=True)
class Reviewed:
    study: Study
    findings: list[Finding]
    verdict: Verdict
    html: str

    @property
    def first_screen(self) -> str:
        """What is told before the cautions, without markup."""
        head = self.html[self.html.index("<main>") : self.html.index('<section class="cautions"')]
        return " ".join(unescape(re.sub(r"<[^>]*>", " ", head)).split())


def reviewed(layout: Layout) -> Reviewed:
    study = review.study(layout, failures=True)
    findings = review.findings(study)
    tables = contents.review_tables(study, findings, COARSE)
    html = page(study, findings, tables, {}, datetime(2026, 1, 1), "0", COARSE)
    return Reviewed(study, findings, verdict(study, findings), html)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Reviewed:
    return reviewed(designs.layout_of(tmp_path_factory.mktemp("sound"), SOUND))


@pytest.fixture(scope="module")
def demo() -> Reviewed:
    return reviewed(load_design(DEMO))


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Reviewed:
    return reviewed(designs.layout_of(tmp_path_factory.mktemp("started"), STARTED))


# --- three designs, three stories -------------------------------------------------------------------------------------


def test_a_sound_design_may_be_closed_and_says_what_is_signed(sound: Reviewed) -> None:
    found = sound.verdict
    assert [line.answer for line in found.lines] == [Answer.YES, Answer.YES]
    assert found.sound
    assert found.headline == "Tanks main and header may be closed, by what was computed: measure first."
    assert "Nothing is open" in sound.first_screen
    assert "What is left to do" in sound.first_screen
    assert "Signed is this: the tanks were built as bench.toml says" in sound.html
    for word in ("Builder", "Inspector", "Signature"):
        assert word in sound.html


def test_a_design_with_faults_says_no_and_where_they_are(demo: Reviewed) -> None:
    found = demo.verdict
    assert [line.answer for line in found.lines] == [Answer.NO] * 3
    assert demo.first_screen.index("Do not close tanks left, right and header.") < 100
    for line in found.lines:
        assert line.counts[Reach.INSIDE] > 0
    # Work that two tanks share counts at both and once in all; two outside name a component alone.
    assert sum(line.counts[Reach.INSIDE] for line in found.lines) > found.count(Reach.INSIDE) > 10
    assert found.aircraft.counts == {Reach.INSIDE: 0, Reach.OUTSIDE: 2, Reach.PAPER: 0}
    assert "20 min: 17.3 min" in demo.first_screen
    assert "Signature" not in demo.html
    assert "There is nothing to sign yet" in demo.html


def test_a_design_that_has_only_begun_says_what_to_state(started: Reviewed) -> None:
    found = started.verdict
    assert [line.answer for line in found.lines] == [Answer.UNKNOWN]
    assert found.mostly_unknown
    assert found.headline == (
        "Whether tank main may be closed is not known yet: most of what decides it is not stated."
    )
    assert "State this first" in started.first_screen
    assert re.search(r"needs its fittings: none is listed yet main : \d+ checks wait for it", started.first_screen)
    assert "Worst first" not in started.first_screen
    assert "<b>0</b>" not in started.html  # "0 fail" beside nothing computed is no story
    assert "Signature" not in started.html


def test_the_page_shows_tenths_of_a_litre_and_the_files_all_digits(demo: Reviewed) -> None:
    text = re.sub(r"<[^>]*>", " ", demo.html[demo.html.index("<main>") :])
    assert not re.findall(r"\d\.\d\d+ L\b", text)
    table = next(t for t in contents.review_tables(demo.study, demo.findings, Shown())[""] if t.key == "capacity")
    assert "47.913" in table.csv()


def test_the_summary_says_what_is_used_in_a_slip_and_where_a_switch_goes(demo: Reviewed) -> None:
    """What a person with the printed page alone asks first."""
    told = demo.html[demo.html.index('id="switches"') : demo.html.index('id="checklist"')]
    summary = unescape(re.sub(r"<[^>]*>", " ", told)).replace("\u00a0", " ")
    # 46.965 L filled less 9.335 L that stay in the slip; in the right tank 47.243 L less 0.66 L.
    assert re.search(r"slip, left wing low\s+37.6\s+46.6\s+7.4\s+91.6\s+pitch 0.0°, roll −7.0°", summary)
    # The tank is 200 mm long and 160 mm wide; the mark stands 60 mm from its front, raised to its minutes.
    assert re.search(
        r"10 min\s+140.0 from the rear wall, 80.0 from the left wall, 153.3 from the lowest point", summary
    )
    # Raised far enough for its minutes the 20-minute float would meet the roof: that must not hide behind the move.
    assert re.search(r"20 min\s+DO NOT DRILL: its float has too little room there", summary)


def test_what_tables_of_several_tanks_warn_of_alike_is_said_once() -> None:
    notes = [Doubt("wing 2.vent is low."), Doubt("wing.vent is low."), Doubt("wing.vent is high.")]
    assert same_of(notes, ["wing 2", "wing"]) == ("wing 2.vent is low. The same of wing.", "wing.vent is high.")
    assert all(isinstance(note, Doubt) for note in same_of(notes, ["wing 2", "wing"]))


def test_notes_are_said_once(demo: Reviewed) -> None:
    notes = re.findall(r'<p class="note(?: warning)?">([^<]{40,})</p>|<li id="note-\d+">([^<]*)</li>', demo.html)
    told = [one or other for one, other in notes]
    assert len(told) > 20
    assert len(told) == len(set(told))


# --- reach and stake of each rule ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("field", ["reach", "stake"])
def test_a_rule_cannot_be_written_without(field: str) -> None:
    assert inspect.signature(rule).parameters[field].default is inspect.Parameter.empty


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.name)
def test_a_rules_reach_is_where_its_mend_is_made(one: Rule) -> None:
    """Kept by hand beside each rule; by subject here, so that a slip in either is seen."""
    assert isinstance(one.reach, Reach)
    assert isinstance(one.stake, Stake)
    inside = {"switch", "low-fuel warning", "water", "sump", "drain", "strainer", "trapped fuel", "expansion space"}
    outside = {"feed line", "feed flow", "vent line", "vent outlet", "pump", "filter", "shut-off", "connected tanks"}
    paper = {"envelope", "flow", "fuel", "flow share", "the tank's mesh", "tank's place"}
    if one.subject in inside and one.name != "warning-tolerance-unknown":
        assert one.reach is Reach.INSIDE
    if one.subject in outside:
        assert one.reach is Reach.OUTSIDE
    if one.subject in paper:
        assert one.reach is Reach.PAPER


# --- the order ----------------------------------------------------------------------------------------------------------


def fault(name: str, stake: Stake, reach: Reach = Reach.INSIDE, subject: str = "") -> Rule:
    words = ("It is good.", "It counts.", "Mend it.")
    return Rule(name, subject or name, *words, (COMMON_PRACTICE,), lambda _: iter(()), reach, stake)


def flawed(name: str, stake: Stake, outcome: Outcome = Outcome.FAIL, cost: Cost | None = None) -> Finding:
    return Finding(fault(name, stake), outcome, "left", (f"{name} is bad",), (f"mend {name}",), cost or Cost())


def test_findings_are_ranked_by_what_they_cost() -> None:
    worst_first = [
        flawed("late", Stake.MINUTES, cost=Cost(short_s=300.0)),
        flawed("later", Stake.MINUTES, cost=Cost(short_s=60.0)),
        flawed("stops", Stake.ENGINE),
        flawed("may-stop", Stake.ENGINE, Outcome.CAUTION),
        flawed("much", Stake.LITRES, Outcome.CAUTION, cost=Cost(volume_m3=0.02)),
        flawed("less", Stake.LITRES, cost=Cost(volume_m3=0.001)),
        flawed("wears", Stake.WEAR),
        flawed("burns", Stake.FIRE),
        flawed("rest", Stake.REST),
        flawed("unknown", Stake.ENGINE, Outcome.NOT_CHECKED),
        flawed("good", Stake.ENGINE, Outcome.PASS),
        flawed("none", Stake.ENGINE, Outcome.NOT_APPLICABLE),
    ]
    backwards = worst_first[::-1]
    again = sorted(backwards, key=lambda finding: finding.rank)
    assert [finding.rule.name for finding in again] == [finding.rule.name for finding in worst_first]


def test_the_example_opens_with_minutes_and_then_litres_the_most_first(demo: Reviewed) -> None:
    names = [(finding.rule.name, finding.where) for finding in demo.findings]
    assert names[0] == ("warning-late", "header switch 5 min")
    litres = [f.cost.volume_m3 for f in demo.findings if f.rule.name == "unusable-large" and f.open]
    assert litres == sorted(litres, reverse=True)
    assert litres[0] == pytest.approx(24.937e-3, abs=1e-6)


def test_what_nobody_can_reach_or_know_keeps_a_tank_open() -> None:
    paper = Finding(fault("p", Stake.REST, Reach.PAPER), Outcome.FAIL, "", ("x",), ())
    outside = Finding(fault("o", Stake.ENGINE, Reach.OUTSIDE), Outcome.FAIL, "", ("x",), ())
    unknown_outside = Finding(fault("u", Stake.ENGINE, Reach.OUTSIDE), Outcome.NOT_CHECKED, "", ("needs x",), ())
    good = flawed("g", Stake.REST, Outcome.PASS)
    assert answer([flawed("f", Stake.REST), paper]) is Answer.NO
    assert answer([flawed("f", Stake.REST, Outcome.NOT_CHECKED), paper]) is Answer.UNKNOWN
    assert answer([flawed("f", Stake.REST, Outcome.CAUTION), good]) is Answer.NOT_YET
    assert answer([paper, good]) is Answer.NOT_YET
    assert answer([outside, unknown_outside, good]) is Answer.YES
    assert answer([]) is Answer.NOT_YET  # nothing was looked at


# --- rows of work -------------------------------------------------------------------------------------------------------


def test_equal_findings_of_several_tanks_are_one_row(demo: Reviewed) -> None:
    row = next(job for job in demo.verdict.work if "vent-discharges-on-aircraft" in job.rules)
    assert row.places == "left overboard, right overboard"
    assert len(row.evidence) == len(row.mends) == 1


def test_one_part_gets_one_mend_for_all_rules_that_ask(demo: Reviewed) -> None:
    row = next(job for job in demo.verdict.work if "strainer-area-small" in job.rules and not job.missing)
    assert row.rules == "strainer-mesh-out-of-range, strainer-area-small"
    assert row.places == "right.outlet"
    assert len(row.mends) == 2


def test_the_same_mend_at_other_places_is_said_once(demo: Reviewed) -> None:
    row = next(job for job in demo.verdict.work if "water-left-behind" in job.rules and not job.missing)
    notch = [COARSE.words(one.words) for one in row.mends if "water runs" in COARSE.words(one.words)]
    assert len(notch) == 1
    assert "(450, 470.5, 12.3) mm (right), (450, -470.5, 12.3) mm (left)" in notch[0]


def test_what_tanks_have_alike_is_said_of_the_first_but_no_other_tanks_slip() -> None:
    def drowns(tank: str, by_m: float, slip: str) -> Finding:
        words = (f"at slip, {slip} wing low, {tank}.vent drowns by ", Quantity("length", (by_m,)), f" in {tank}")
        return replace(flawed("vent-drowns", Stake.ENGINE), where=tank, evidence=words, mend=(f"Raise {tank}.vent.",))

    found = [drowns("far left", 0.12, "left"), drowns("left", 0.12 + 1e-12, "left"), drowns("right", 0.12, "right")]
    (job,) = jobs(found, ["right", "left", "far left"])
    assert [Shown().words(one.words) for one in job.evidence] == [
        "at slip, left wing low, far left.vent drowns by 120.0 mm in far left; the others likewise",
        "at slip, right wing low, right.vent drowns by 120.0 mm in right",
    ]
    assert [Shown().words(one.words) for one in job.mends] == ["Raise far left.vent. The others likewise."]
    (deeper,) = jobs([found[0], drowns("left", 0.1205, "left")], ["left", "far left"])
    assert len(deeper.evidence) == 2


def test_a_sentence_of_several_things_is_one_row_of_a_table() -> None:
    change = "one more switch, its mark a hand above the outlet"
    columns = (Column("wrong"), Column("change"), Column("then", "time"))
    rows = (("ice", change, 600.0), ("dirt", change, 600.0), ("leak", change, 660.0), ("wear", "none", 600.0))
    told = folded(Table("catches", "", columns, (*rows, ("age", "none", 600.0)), (), COARSE))
    assert [(first, then) for first, _, then in told] == [
        ("ice, dirt", "10.0"), ("leak", "11.0"), ("wear", "10.0"), ("age", "10.0"),
    ]  # fmt: skip


def test_every_open_finding_is_in_one_row(demo: Reviewed, started: Reviewed) -> None:
    for one in (demo, started):
        numbers = sorted(number for job in jobs(one.findings) for number, _ in job.found)
        assert numbers == [number for number, finding in enumerate(one.findings, 1) if finding.open]


@pytest.mark.parametrize(
    ("where", "named"),
    [
        ("left", {"left"}),
        ("left.outlet", {"left"}),
        ("left switch 5 min", {"left"}),
        ("left and right", {"left", "right"}),
        ("left, right, left aft", {"left", "right", "left aft"}),
        ("left aft.vent to left overboard", {"left aft"}),
        ("engine to left.return", {"left"}),
        ("left overboard", set()),
        ("all tanks", set()),
        ("", set()),
    ],
)
def test_a_place_names_its_tanks(where: str, named: set[str]) -> None:
    assert tanks_of(where, ["left", "left aft", "right"], ["left overboard", "engine"]) == named


# --- names, paper and screens -------------------------------------------------------------------------------------------


def test_names_with_markup_inject_nothing(tmp_path: Path) -> None:
    evil = "</style><script>alert(1)</script><img src=x onerror=alert(2)>\"' & {{ 7 * 7 }}"
    tank = {**MAIN, "name": f"<b>main</b> {evil}".replace(".", "")}
    spoilt = {**STARTED, "tank": [tank], "aircraft.name": evil, "aircraft.datum": evil}
    one = reviewed(designs.layout_of(tmp_path, spoilt))
    Outline.of(one.html)  # refuses scripts and images
    assert "<b>main</b>" not in one.html
    assert "onerror=alert(2)>" not in one.html.replace(escape("onerror=alert(2)>"), "")
    assert "{{ 7 * 7 }}" in unescape(one.html)


def test_the_paper_is_the_printers_own() -> None:
    css = (Path(contents.__file__).parent / "page.css").read_text(encoding="utf-8")
    plain = re.sub(r"/\*.*?\*/", "", css, flags=re.S)
    assert not re.search(r"(?<![-\w])size\s*:", plain)
    assert "details { display: none; }" in plain  # explanations print closed
    assert "prefers-color-scheme: dark" in plain


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip
_MEASURE = """
const page = document.querySelector("iframe").contentDocument, wide = page.documentElement.clientWidth;
const cut = [...page.querySelectorAll("p, li, dd, h1, h2, h3, h4, summary")].filter(
  one => !one.closest(".wide, nav") && one.getClientRects().length && one.getBoundingClientRect().right > wide + 0.5);
document.body.textContent = JSON.stringify(
  {wide, all: page.documentElement.scrollWidth, cut: cut.map(one => one.textContent.slice(0, 60))});
"""


def measured(html: str, width: int, folder: Path) -> Mapping[str, Any]:
    """How wide a page is on a screen of a width, and which paragraphs leave it."""
    frame = (
        f'<iframe style="width:{width}px;height:844px;border:0" srcdoc="{escape(html)}" onload="measure()"></iframe>'
    )
    (folder / "frame.html").write_text(
        f"<meta charset='utf-8'><script>function measure() {{{_MEASURE}}}</script><body>{frame}", encoding="utf-8"
    )
    command = [str(CHROMIUM), *_QUIET, f"--user-data-dir={folder / 'profile'}", "--window-size=1600,900", "--dump-dom"]
    done = subprocess.run(
        [*command, (folder / "frame.html").as_uri()], capture_output=True, text=True, timeout=120, check=True
    )
    told = re.search(r"(?<=<body>)\{.*\}(?=</body>)", unescape(done.stdout), re.S)
    assert told, done.stdout[-500:]
    answered: Mapping[str, Any] = json.loads(told[0])
    return answered


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: the page's width is measured in it")
@pytest.mark.parametrize("width", [390, 1400])
@pytest.mark.parametrize("which", ["sound", "demo", "started"])
def test_nothing_leaves_the_screen(which: str, width: int, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    one: Reviewed = request.getfixturevalue(which)
    seen = measured(one.html, width, tmp_path)
    assert seen["cut"] == []
    assert seen["all"] <= seen["wide"] <= width


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: the page's width is measured in it")
def test_what_does_leave_the_screen_is_seen(demo: Reviewed, tmp_path: Path) -> None:
    spoilt = demo.html.replace("<h2>Summary</h2>", '<h2 style="width:600px">Summary</h2>')
    assert measured(spoilt, 390, tmp_path)["cut"] == ["Summary"]
