"""What stood where, and when: parts through builds, strips and moves, and the contradictions that are caught."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import pytest

from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked

FAMILY = """
family: single
architecture: rotary
exposure: hours
positions:
  rotor: rotor
  seals: {kind: seal, names: [a1, a2]}
kinds:
  rotor: {serial: yes, dimensions: {width: {unit: mm, wears: down}}}
  seal: {dimensions: {height: {unit: mm, wears: down}}}
"""


@dataclass(frozen=True)
class Texts:
    """Files that lie in memory."""

    files: Mapping[str, str]
    label: str = "texts of a test"

    def paths(self) -> Sequence[str]:
        return sorted(self.files)

    def read(self, path: str) -> bytes:
        return self.files[path].encode("utf-8")

    def size(self, path: str) -> int:
        return len(self.read(path))


def checked(*sheets: tuple[str, str, str, str], log: str = "", more: Mapping[str, str] | None = None) -> Checked:
    """A shop of sheets, each (engine, b|t|i, day, what stands under its positions and beside)."""
    files = {"shop.yml": "name: Test\n", "families/single.yml": FAMILY, **(more or {})}
    for engine, kind, day, text in sheets:
        folder = {"b": "builds/{}.yml", "i": "inspections/{}.yml", "t": "teardowns/{}/teardown.yml"}[kind]
        files[f"engines/{engine}/engine.yml"] = f"engine: {engine}\nfamily: single\n"
        files[f"engines/{engine}/{folder.format(day)}"] = f"engine: {engine}\ndate: {day}\n{text}\n"
    if log:
        files["engines/E1/log.yml"] = log
    return read_checked(Texts(files), date(2030, 1, 1))


def stays(found: Checked, part: str) -> list[tuple[str, str, str | None]]:
    """Where a part was: (engine, from, to)."""
    return [
        (
            stay.engine,
            date.fromordinal(stay.began[0]).isoformat(),
            stay.removed.day.isoformat() if stay.removed else None,
        )
        for stay in found.fitting.stays
        if stay.part.id == part
    ]


def said(found: Checked, level: str) -> list[str]:
    return [problem.message for problem in found.problems if problem.level == level]


def test_a_part_that_moves_twice_is_followed_by_its_serial() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {part: R-1, decision: reuse}}"),
        ("E12", "b", "2026-03-01", "positions: {rotor: {part: R-1}}"),
        ("E12", "t", "2026-04-01", "positions: {rotor: {part: R-1, decision: reuse}}"),
        ("E1", "b", "2026-05-01", "positions: {rotor: {part: R-1}}"),
    )
    assert said(found, "error") == []
    assert stays(found, "R-1") == [
        ("E1", "2026-01-01", "2026-02-01"),
        ("E12", "2026-03-01", "2026-04-01"),
        ("E1", "2026-05-01", None),
    ]


def test_a_part_may_change_engines_on_one_day() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {part: R-1, decision: reuse}}"),
        ("E12", "b", "2026-02-01", "positions: {rotor: {part: R-1}}"),
    )
    assert said(found, "error") == []
    assert [stay[0] for stay in stays(found, "R-1")] == ["E1", "E12"]


def test_a_part_fitted_in_two_places_at_once_is_an_error() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E12", "b", "2026-02-01", "positions: {rotor: {part: R-1}}"),
    )
    assert any("two places" in message and "E1" in message for message in said(found, "error"))


def test_a_part_taken_out_where_it_never_was_is_an_error() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {part: R-2, decision: reuse}}"),
        more={"parts/R-2.yml": "serial: R-2\nkind: rotor\n"},
    )
    assert any("taken out where it never was" in message for message in said(found, "error"))


def test_a_serial_read_for_the_first_time_names_the_part_that_was_there() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: }"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {part: R-1, decision: reuse}}"),
    )
    assert said(found, "error") == []
    assert stays(found, "R-1") == [("E1", "2026-01-01", "2026-02-01")]


@pytest.mark.parametrize(
    ("decision", "back"), [("reuse", True), ("rework", True), ("replace", False), ("retire", False)]
)
def test_rest_as_before_puts_back_what_was_to_go_back(decision: str, back: bool) -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}, seals: }"),
        ("E1", "t", "2026-02-01", f"positions: {{rotor: {{decision: {decision}}}, seals: {{decision: replace}}}}"),
        ("E1", "b", "2026-03-01", "positions: {seals: }\nrest: as before"),
    )
    assert (len(stays(found, "R-1")) == 2) is back


def test_a_bare_place_is_the_part_that_was_to_be_reused_else_a_new_one() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: , seals: }"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {decision: reuse}, seals: {decision: replace}}"),
        ("E1", "b", "2026-03-01", "positions: {rotor: , seals: }"),
    )
    assert len(stays(found, "E1.rotor.1")) == 2
    assert len(stays(found, "E1.seals.a1.1")) == 1
    assert len(stays(found, "E1.seals.a1.2")) == 1


def test_one_member_of_a_set_may_be_written_apart() -> None:
    apart = "seals: {decision: reuse, measured: {height: 7.98}}, seals/a2: {decision: replace}"
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {seals: {part: {a1: A-1, a2: A-2}}}"),
        ("E1", "t", "2026-02-01", f"positions: {{{apart}}}"),
    )
    lines = found.resolved["engines/E1/teardowns/2026-02-01/teardown.yml"].lines
    assert said(found, "error") == []
    assert (lines["seals/a1"].decision, lines["seals/a2"].decision) == ("reuse", "replace")
    assert "height" in lines["seals/a2"].measured


def test_runs_after_a_strip_with_no_build_put_back_what_was_to_be_reused_with_a_doubt() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {decision: reuse}}"),
        log="- {date: 2026-03-01, kind: run, hours: 1}\n",
    )
    assert stays(found, "R-1")[-1][2] is None
    assert any("no build" in message for message in said(found, "doubt"))


def test_a_retired_part_that_is_fitted_again_is_a_doubt() -> None:
    found = checked(
        ("E1", "b", "2026-01-01", "positions: {rotor: {part: R-1}}"),
        ("E1", "t", "2026-02-01", "positions: {rotor: {decision: retire}}"),
        ("E1", "b", "2026-03-01", "positions: {rotor: {part: R-1}}"),
    )
    assert any("retired" in message for message in said(found, "doubt"))


def test_a_leap_day_is_a_day_like_any_other() -> None:
    found = checked(("E1", "b", "2028-02-29", "positions: {rotor: {part: R-1}}"))
    assert said(found, "error") == []
    assert stays(found, "R-1") == [("E1", "2028-02-29", None)]
    assert any(
        "2027-02-29" in message for message in said(checked(("E1", "b", "2027-02-29", "positions: {rotor: }")), "error")
    )
