"""A sheet beside its family: each reading, grade and serial in its slot, and an error for what belongs nowhere."""

import pytest
from written_shop import Written

from engine_pages.records.load import load_shop
from engine_pages.records.quantity import Quantity
from engine_pages.records.resolve import Resolved, fit_side, fit_unit, resolve

FAMILY = """\
family: four
architecture: piston
exposure: hours
positions:
  cylinder-1: cylinder
  bearing-1: {kind: bearing, row: 1}
  rings-1: {kind: ring, names: [top, second, oil]}
  crank: crank
kinds:
  cylinder:
    dimensions:
      bore: {unit: mm, stations: [top-thrust, top-pin, low-thrust]}
      depth: {unit: mm, stations: [middle]}
  bearing: {dimensions: {wall: {unit: mm}}, observe: [overlay]}
  ring: {dimensions: {gap: {unit: mm}, width: {unit: mm, stations: [left, right]}}, observe: [chipping, carbon]}
  crank: {dimensions: {journal_1: {unit: mm}, endplay: {unit: µm}}}
fits:
  piston-clearance-1: {outer: cylinder-1.bore@top-thrust, inner: crank.journal_1}
  bearing-clearance-1: {outer: bearing-1.wall, inner: crank.journal_1, unit: thou}
"""
SHEET = "engines/K-05/teardowns/2026-03-02/teardown.yml"
BUILD = "engines/K-05/builds/2026-03-02.yml"


def _resolve(text: str, family: str = FAMILY, sheet: str = SHEET) -> Resolved:
    files = Written(
        {
            "families/four.yml": family.encode(),
            "engines/K-05/engine.yml": b"engine: K-05\nfamily: four\n",
            sheet: f"engine: K-05\ndate: 2026-03-02\n{text}".encode(),
        }
    )
    shop = load_shop(files)
    assert shop.problems == []
    return resolve(shop.engines["K-05"].sheets[0], shop.families["four"].it)


def _messages(text: str) -> list[str]:
    return [str(problem).removeprefix(f"{SHEET}:") for problem in _resolve(text).problems]


def _values(resolved: Resolved, slot: str, dimension: str) -> dict[str | None, list[str]]:
    taken = resolved.lines[slot].measured[dimension]
    return {station: [value.written for value in one.reading.values] for station, one in taken.items()}


def test_a_reading_goes_to_its_station_and_keeps_its_place() -> None:
    resolved = _resolve("positions:\n  cylinder-1:\n    measured:\n      bore: {top-thrust: 86.012, top-pin: 86.008}\n")
    assert resolved.problems == []
    assert _values(resolved, "cylinder-1", "bore") == {"top-thrust": ["86.012"], "top-pin": ["86.008"]}
    assert str(resolved.lines["cylinder-1"].measured["bore"]["top-pin"].source) == f"{SHEET}:6:43"


def test_a_dimension_with_one_station_needs_no_name_for_it() -> None:
    resolved = _resolve("positions:\n  cylinder-1: {measured: {depth: 12.0}}\n")
    assert _values(resolved, "cylinder-1", "depth") == {"middle": ["12.0"]}


def test_a_set_written_whole_reaches_every_member() -> None:
    resolved = _resolve(
        "positions:\n  rings-1: {part: {top: R-1, oil: R-3}, measured: {gap: {top: 0.30, second: 0.35}},"
        " observed: {chipping: {second: 1}, carbon: 2}, decision: reuse}\n"
    )
    assert resolved.problems == []
    assert [line.part for line in resolved.lines.values()] == ["R-1", None, "R-3"]
    assert _values(resolved, "rings-1/second", "gap") == {None: ["0.35"]}
    assert "gap" not in resolved.lines["rings-1/oil"].measured
    assert {slot: dict(line.observed).keys() for slot, line in resolved.lines.items()} == {
        "rings-1/top": {"carbon"},
        "rings-1/second": {"chipping", "carbon"},
        "rings-1/oil": {"carbon"},
    }
    assert {line.decision for line in resolved.lines.values()} == {"reuse"}


def test_a_single_value_is_every_members() -> None:
    resolved = _resolve("positions:\n  rings-1: {measured: {gap: 0.30, width: {left: 1.2, right: 1.3}}}\n")
    for member in ("top", "second", "oil"):
        assert _values(resolved, f"rings-1/{member}", "gap") == {None: ["0.30"]}
        assert _values(resolved, f"rings-1/{member}", "width") == {"left": ["1.2"], "right": ["1.3"]}


@pytest.mark.parametrize("member_first", [False, True])
def test_one_member_may_differ_from_what_is_said_once_for_all(member_first: bool) -> None:
    lines = ["  rings-1: {decision: reuse, measured: {gap: 0.30}, observed: {carbon: 1}}\n"]
    lines.append("  rings-1/oil: {decision: replace, why: broken, measured: {gap: 0.55}, observed: {carbon: 3}}\n")
    resolved = _resolve("positions:\n" + "".join(reversed(lines) if member_first else lines))
    assert resolved.problems == []
    assert [resolved.lines[f"rings-1/{one}"].decision for one in ("top", "second", "oil")] == [
        *("reuse", "reuse", "replace")
    ]
    assert _values(resolved, "rings-1/oil", "gap") == {None: ["0.55"]}
    assert resolved.lines["rings-1/oil"].observed["carbon"][0] == 3
    assert resolved.lines["rings-1/oil"].why == "broken"
    assert resolved.lines["rings-1/top"].observed["carbon"][0] == 1


def test_a_member_written_apart_adds_to_the_sets_line() -> None:
    resolved = _resolve(
        "positions:\n  rings-1: {measured: {gap: {top: 0.30}}}\n  rings-1/oil: {part: R-3, measured: {gap: 0.55}}\n"
    )
    assert resolved.problems == []
    assert resolved.lines["rings-1/oil"].part == "R-3"
    assert [_values(resolved, f"rings-1/{one}", "gap") for one in ("top", "oil")] == [
        {None: ["0.30"]},
        {None: ["0.55"]},
    ]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("measured: {gap: {oil: 0.5}}", "measured: {gap: 0.5}"),
        ("observed: {carbon: {oil: 1}}", "observed: {carbon: 1}"),
        ("part: {oil: R-3}", "part: R-3"),
    ],
)
def test_the_same_thing_said_twice_of_one_member_is_an_error(first: str, second: str) -> None:
    messages = _messages(f"positions:\n  rings-1: {{{first}}}\n  rings-1/oil: {{{second}}}\n")
    assert len(messages) == 1
    assert messages[0].startswith("5:")
    assert "second time" in messages[0]


def test_circumstances_round_a_value_reach_every_reading_inside() -> None:
    resolved = _resolve(
        "positions:\n  cylinder-1:\n    measured:\n      bore: {value: {top-thrust: 86.01,"
        " top-pin: {value: [86.00, 86.01], by: TM}}, instrument: bore-75, temperature: 24 °C, by: RK}\n"
    )
    thrust, pin = (resolved.lines["cylinder-1"].measured["bore"][name].reading for name in ("top-thrust", "top-pin"))
    assert (thrust.instrument, thrust.by, pin.instrument, pin.by) == ("bore-75", "RK", "bore-75", "TM")
    assert isinstance(pin.temperature, Quantity)
    assert pin.temperature.unit == "°C"


def test_a_blank_is_not_looked_at_and_nought_is_nothing_there() -> None:
    resolved = _resolve("positions:\n  bearing-1: {measured: {wall: }, observed: {overlay: 0}}\n")
    assert resolved.problems == []
    assert resolved.lines["bearing-1"].measured == {}
    assert resolved.lines["bearing-1"].observed["overlay"][0] == 0


def test_a_bare_position_was_not_looked_at() -> None:
    resolved = _resolve("positions:\n  crank:\n  rings-1: {part: {top: }, observed: {chipping: {oil: }}, photos: []}\n")
    assert (resolved.lines, resolved.written, resolved.problems) == ({}, [], [])


def test_a_bare_position_of_a_build_is_fitted() -> None:
    assert list(_resolve("positions:\n  crank:\n", sheet=BUILD).lines) == ["crank"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("positions:\n  bearing-2:\n", "4:3: error: position 'bearing-2' stands nowhere in the family"),
        ("positions:\n  rings-1/tp:\n", "4:3: error: position 'rings-1/tp' stands nowhere"),
        ("positions:\n  rings-1: {part: {tp: R-1}}\n", "4:20: error: 'tp' is no member of rings-1"),
        ("positions:\n  rings-1: {part: R-1}\n", "4:19: error: one serial for a set of 3"),
        ("positions:\n  bearing-1: {part: {top: R-1}}\n", "4:22: error: 'top' is no member of bearing-1"),
        ("positions:\n  crank: {measured: {journal_2: 1}}\n", "4:22: error: a crank has no dimension 'journal_2'"),
        ("positions:\n  crank: {observed: {wear: 1}}\n", "4:22: error: 'wear' is not observed on a crank"),
        ("positions:\n  cylinder-1: {measured: {bore: 86.0}}\n", "4:33: error: bore is read at stations"),
        ("positions:\n  cylinder-1: {measured: {bore: {top: 86}}}\n", "4:34: error: 'top' is no station of bore"),
        ("positions:\n  rings-1: {measured: {width: {top: {l: 1}}}}\n", "4:38: error: 'l' is no station of width"),
        ("positions:\n  crank: {measured: {journal_1: 2 bar}}\n", "4:33: error: 2 bar where a length is wanted"),
        ("positions:\n  crank: {measured: {journal_1: [1, 2 h]}}\n", "4:37: error: 2 h where a length is wanted"),
        ("positions:\n  crank: {measured: {journal_1: under 2 h}}\n", "4:33: error: 2 h where a length is wanted"),
        ("fits: {bearing-clearance-2: 0.05}\n", "3:8: error: fit 'bearing-clearance-2' stands nowhere"),
        ("fits: {bearing-clearance-1: 2 kPa}\n", "3:29: error: 2 kPa where a length is wanted"),
        ("fits: {piston-clearance-1: {top: 0.05}}\n", "3:29: error: 'top' is no station of piston-clearance-1"),
    ],
)
def test_what_belongs_nowhere_is_an_error_at_its_name(text: str, says: str) -> None:
    messages = _messages(text)
    assert len(messages) == 1
    assert messages[0].startswith(says)


def test_a_fit_is_measured_whole_or_at_a_station_of_its_sides() -> None:
    resolved = _resolve("fits: {piston-clearance-1: {top-pin: 0.05..0.06}, bearing-clearance-1: 1.5}\n")
    assert resolved.problems == []
    assert {name: list(taken) for name, taken in resolved.fits.items()} == {
        "piston-clearance-1": ["top-pin"],
        "bearing-clearance-1": [None],
    }


def test_a_fits_side_is_a_slot_a_dimension_and_perhaps_a_station() -> None:
    shop = load_shop(Written({"families/four.yml": FAMILY.replace("  crank: crank", "  crank.v2: crank").encode()}))
    family = shop.families["four"].it
    assert fit_side(family, "cylinder-1.bore@top-pin") == ("cylinder-1", "bore", "top-pin")
    assert fit_side(family, "crank.v2.journal_1") == ("crank.v2", "journal_1", None)
    assert fit_side(family, "crank") is None
    assert [fit_unit(family, name) for name in ("piston-clearance-1", "bearing-clearance-1")] == ["mm", "thou"]


def test_the_same_family_gives_the_same_slots_in_its_own_order() -> None:
    resolved = _resolve("positions:\n  crank:\n  rings-1:\n  cylinder-1:\n", sheet=BUILD)
    orders = {line.slot.id: (line.slot.order, line.slot.row) for line in resolved.lines.values()}
    assert orders == {
        "cylinder-1": (0, 1),
        "rings-1/top": (2, 1),
        "rings-1/second": (3, 1),
        "rings-1/oil": (4, 1),
        "crank": (5, None),
    }
