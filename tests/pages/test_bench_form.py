"""What the bench page is told of an engine: what a build proposes by the record, and names that are not taken for one
another."""

from datetime import date
from typing import Any

from written_shop import Written

from engine_pages.history.tell import tell_one
from engine_pages.pages.bench_form import BenchOf, bench_form
from engine_pages.records.checks.all import read_checked

TODAY = date(2026, 11, 25)
FAMILY = """\
family: single
architecture: rotary
exposure: hours
positions:
  rotor-1: rotor
  spring-1: spring
  seals-1: {kind: seal, names: [a, b]}
  seals-2: {kind: seal, names: [a, b]}
kinds: {rotor: , spring: , seal: {serial: yes}}
"""
BUILD = """\
engine: E1
date: 2026-01-10
positions:
  rotor-1: {part: R-1}
  spring-1: {}
  seals-1: {part: {a: S-1, b: S-2}}
  seals-2: {part: {a: S-3, b: S-4}}
"""
STRIP = """\
engine: E1
date: 2026-06-01
positions:
  rotor-1: {decision: undecided}
  spring-1: {decision: reuse}
  seals-1: {decision: reuse}
  seals-1/b: {decision: replace, because: worn}
  seals-2: {decision: rework}
"""


def form(family: str = FAMILY, **sheets: str) -> dict[str, Any]:
    """The form of an engine with these sheets: `build`, `strip`."""
    files = {
        "families/single.yml": family,
        "engines/E1/engine.yml": "engine: E1\nfamily: single\n",
        "engines/E1/builds/2026-01-10.yml": sheets.get("build", BUILD),
    }
    if "strip" in sheets:
        files["engines/E1/teardowns/2026-06-01/teardown.yml"] = sheets["strip"]
    checked = read_checked(Written({path: text.encode() for path, text in files.items()}), TODAY)
    assert [str(one) for one in checked.problems if one.level == "error"] == []
    written = checked.shop.family_of("E1")
    assert written is not None
    numbers: dict[Any, str | None] = {}
    return bench_form(BenchOf(tell_one(checked, "E1")[0], written, checked.resolved, "Shed", numbers, TODAY))


def goes_in(told: dict[str, Any]) -> dict[str, Any]:
    return {place: line["part"] for place, line in told["goes_in"].items()}


def test_a_build_proposes_what_is_in_the_engine() -> None:
    assert goes_in(form()) == {
        "rotor-1": "R-1",
        "seals-1": {"a": "S-1", "b": "S-2"},
        "seals-2": {"a": "S-3", "b": "S-4"},
    }


def test_a_build_proposes_only_what_the_strip_decided_to_put_back() -> None:
    assert goes_in(form(strip=STRIP)) == {"seals-2": {"a": "S-3", "b": "S-4"}}


def test_what_was_decided_stands_beside_the_serial() -> None:
    told = form(strip=STRIP)
    members = {(one["id"], member["id"]): member for one in told["positions"] for member in one["members"]}
    assert members["seals-1", "b"] == {"id": "b", "part": "S-2", "stay": "out since 2026-06-01: replace"}
    assert members["rotor-1", ""]["stay"] == "out since 2026-06-01: undecided"
    assert [one["stay"] for told in form()["positions"] for one in told["members"]] == [
        *("", "in there, without a serial"),
        *([""] * 4),
    ]


FITS = """\
fits:
  clearance-a: {name: Clearance, row: 1, outer: rotor-1.bore, inner: spring-1.height}
  clearance-b: {name: Clearance, row: 2, outer: rotor-1.bore, inner: spring-1.height}
  end-play: {outer: rotor-1.bore, inner: spring-1.height}
"""


def test_clearances_are_named_with_their_rows_also_where_nothing_is_measured() -> None:
    family = FAMILY.replace("rotor: ,", "rotor: {dimensions: {bore: {unit: mm}}},")
    family = family.replace("spring: ,", "spring: {dimensions: {height: {unit: mm}}},") + FITS
    assert [one["name"] for one in form(family)["fits"]] == ["Clearance 1", "Clearance 2", "End play 1"]
