"""What becomes of a design's findings when one field of it is taken out: refused, not checked, assumed, or nothing.

Run: python tests/deletions.py [ARCHITECTURE ...] lists every field and what its deletion does.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import sound_designs as sound

from fuelsys.errors import DesignError, QuestionError
from fuelsys.load.designs.door import load_design
from fuelsys.load.designs.faults import field
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.review import findings, study

Place = tuple[str | int, ...]
Key = tuple[str, str]  # a rule's name and its subject
ASSUMED = ("no path is stated", "assumed")
BAD = (Outcome.FAIL, Outcome.CAUTION)


@dataclass(frozen=True)
class Deleted:
    """One field taken out: what the door said, or the outcomes before and after, where they differ, and the evidence after.

    lost are bad findings that became a pass, do not apply or are gone; told are findings that are new, or say something else,
    and are no pass; worse: some rule that was content is not any more.
    """

    where: str
    record: str
    refused: str = ""
    changed: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    worse: bool = False

    @property
    def silent(self) -> tuple[str, ...]:
        """Bad findings that were lost without a word: nothing became worse, and the pass states no assumption."""
        return () if self.worse else tuple(one for one in self.lost if not any(word in one for word in ASSUMED))


def fields(value: Any, here: Place = ()) -> Iterator[Place]:
    """Every field of every table, and each table of a list of tables as a whole; not what stands in a place or a curve."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*here, key)
            yield from fields(inner, (*here, key))
    elif isinstance(value, list):
        for k, inner in enumerate(value):
            if isinstance(inner, dict):
                yield (*here, k)
                yield from fields(inner, (*here, k))


def record_of(place: Place) -> str:
    """The field as the file's tables have it: tank.outlet.bore."""
    return ".".join(part if isinstance(part, str) else "[]" for part in place).replace(".[]", "[]")


@lru_cache
def folder() -> tempfile.TemporaryDirectory[str]:
    """One folder with all meshes for the whole run."""
    made = tempfile.TemporaryDirectory()
    sound.write_meshes(Path(made.name))
    return made


def found(design: Any) -> list[Finding]:
    """The findings on a design, through the door."""
    path = Path(folder().name) / "bench.toml"
    path.write_text(sound.text_of(design), encoding="utf-8")
    return findings(study(load_design(path)))


def judged(some: list[Finding]) -> dict[Key, tuple[Outcome, str]]:
    """Worst outcome and all evidence by rule and subject."""
    kept: dict[Key, tuple[Outcome, str]] = {}
    for one in some:
        said = "".join(part if isinstance(part, str) else f"{part.values_si}" for part in one.evidence)
        key = (one.rule.name, one.where)
        outcome, more = kept.get(key, (one.outcome, ""))
        kept[key] = (min(outcome, one.outcome), more + said)
    return kept


@lru_cache
def whole(architecture: str) -> dict[Key, tuple[Outcome, str]]:
    """Of the design as it is."""
    return judged(found(sound.design_of(architecture)))


def without(architecture: str, place: Place) -> Deleted:
    """The design without one field."""
    design = deepcopy(sound.design_of(architecture))
    where, table = field(place, design), design
    for key in place[:-1]:
        table = table[key]
    del table[place[-1]]
    try:
        after = judged(found(design))
    except (DesignError, QuestionError) as fault:
        return Deleted(where, record_of(place), refused=fault.lines[0])
    before = whole(architecture)
    words = {None: "gone"} | {outcome: outcome.word for outcome in Outcome}
    changed, lost, told, worse = list[str](), list[str](), list[str](), False
    for key in dict.fromkeys([*before, *after]):
        (was, said), (now, says) = before.get(key, (None, "")), after.get(key, (None, ""))
        if was != now:
            changed.append(f"{' '.join(key).strip()}: {words[was]} -> {words[now]}")
        if was in BAD and (now is None or now > Outcome.NOT_CHECKED):
            lost.append(f"{' '.join(key).strip()} -> {words[now]}: {says}")
        worse |= now is not None and now < Outcome.PASS and (was is None or now < was)
        if now is not None and now < Outcome.PASS and (now != was or says != said):
            told.append(f"{' '.join(key).strip()}: {words[now]}: {says}")
    return Deleted(where, record_of(place), "", tuple(changed), tuple(lost), tuple(told), worse)


def main() -> None:
    """List it all."""
    for architecture in sys.argv[1:] or ["header", "taildragger"]:
        for place in fields(sound.design_of(architecture)):
            one = without(architecture, place)
            print(
                f"{architecture}: {one.where}: {one.refused or '; '.join(one.changed) or 'nothing changes'}", flush=True
            )
            for lost in one.lost:
                print(f"        {'SILENT' if lost in one.silent else 'lost'} {lost}")
            for told in one.told if one.lost else ():
                print(f"        told {told}")


if __name__ == "__main__":
    main()
