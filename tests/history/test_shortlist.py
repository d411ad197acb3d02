"""What stops the engine first: limits and dues in one order, by what is left from now on."""

import pytest

from .shop_for_tests import engine, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, bearing-2: bearing, seal: seal, shaft: shaft}
    kinds:
      bearing:
        observe: [crack]
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.100}, instrument: mic}}
      seal:
        dimensions: {height: {unit: mm, wears: down, limit: {min: 7.5}}}
        service: {replace: {hours: 36}, inspect: {hours: 200}}
      shaft: {dimensions: {journal: {unit: mm, wears: down, limit: {min: 59.0}, instrument: mic}}}
    fits: {running-1: {name: Running clearance, outer: bearing-1.inside, inner: shaft.journal, limit: {max: 0.200}}}
"""


def shop(first: str, second: str, decision: str = "reuse") -> dict[str, str]:
    """Two bearings read at 0 h and at 20 h, a seal of 36 h, a shaft that was never measured."""
    return {
        "shop.yml": "instruments: {mic: {repeat: 0.0005 mm, zero: 0.0005 mm}}\n",
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": """
            engine: E1
            date: 2026-01-01
            positions:
              bearing-1: {part: B-1, origin: new, measured: {inside: 60.050}}
              bearing-2: {part: B-2, origin: new, measured: {inside: 60.050}}
              seal: {part: A-1, origin: new}
              shaft: {part: S-1, origin: new}
        """,
        "engines/E1/teardowns/2026-03-01/teardown.yml": f"""
            engine: E1
            date: 2026-03-01
            positions:
              bearing-1: {{part: B-1, measured: {{inside: {first}}}, decision: {decision}}}
              bearing-2: {{part: B-2, measured: {{inside: {second}}}, decision: reuse}}
              seal: {{part: A-1, decision: reuse}}
              shaft: {{part: S-1, decision: reuse}}
        """,
        "engines/E1/log.yml": "- {date: 2026-02-01, kind: run, hours: 20}\n",
    }


def names(files: dict[str, str]) -> list[str]:
    return [f"{row.part} {row.what}" for row in engine(told(files)).shortlist]


def test_the_nearest_limit_or_due_comes_first() -> None:
    # B-1 wears 1.5 µm/h and has 13 h left, the seal 16 h, B-2 1 µm/h and 30 h.
    assert names(shop("60.080", "60.070")) == ["B-1 Inside", "A-1 replace", "B-2 Inside"]


def test_what_is_left_counts_from_now() -> None:
    first, seal, second = engine(told(shop("60.080", "60.070"))).shortlist
    assert first.left == pytest.approx(20 / 1.5, rel=0.02)
    assert first.left_low is not None
    assert first.left_high is not None
    assert first.left_low < 20 / 1.5 < first.left_high
    assert (seal.left, second.left) == (16.0, pytest.approx(30.0, rel=0.02))


def test_what_is_past_its_limit_is_first_and_has_nothing_left() -> None:
    first = engine(told(shop("60.070", "60.110"))).shortlist[0]
    assert (first.part, first.state, first.left) == ("B-2", "beyond limit", 0.0)


def test_a_part_that_shows_no_wear_comes_after_those_that_do() -> None:
    assert names(shop("60.080", "60.050"))[-1] == "B-2 Inside"


def test_what_is_decided_to_go_out_stops_nothing() -> None:
    assert names(shop("60.095", "60.070", "replace")) == ["A-1 replace", "B-2 Inside"]


def test_an_inspection_that_is_not_due_stops_nothing() -> None:
    assert not [name for name in names(shop("60.080", "60.070")) if "inspect" in name]


def test_what_was_never_measured_is_not_in_it_and_named_elsewhere() -> None:
    one = engine(told(shop("60.080", "60.070")))
    assert not [row for row in one.shortlist if row.part == "S-1"]
    assert [part.id for part in one.parts if part.state == "not measured"] == ["A-1", "S-1"]


def test_a_clearance_stands_among_the_parts() -> None:
    files = shop("60.080", "60.070")
    for path in ("engines/E1/builds/2026-01-01.yml", "engines/E1/teardowns/2026-03-01/teardown.yml"):
        files[path] = files[path].replace("{part: S-1,", "{part: S-1, measured: {journal: 59.900},")
    assert "None Running clearance" in names(files)
