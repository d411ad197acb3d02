"""A pool's summary as a file: small, by content, and enough for the lines of an engine's own parts."""

import json
from collections.abc import Hashable

import pytest

from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import PoolFit, fit_pool
from engine_pages.wear.pool.numbers import PoolPart, groups_of
from engine_pages.wear.pool.priors import Frame
from engine_pages.wear.pool.summary import from_json

FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)


def engine(name: str, shift: float, warm: float = 0.0) -> list[PoolPart]:
    """Two bearings read by one gauge on two sheets of their engine."""
    parts = []
    for i, wear in enumerate((0.004, 0.006)):
        readings = []
        for k, x in enumerate((0.0, 9.5 + i)):
            shared: dict[Hashable, float] = {("zero", name, k): 0.001}
            if warm:
                shared["expansion"] = warm * (k + 1)
            readings.append((x, Measured(60.05 + shift + wear * k, 2e-6, shared)))
        parts.append(PoolPart(f"{name}-{i}", tuple(readings), 60.051))
    return parts


def fitted(parts: list[PoolPart], common: tuple[str, ...] = ()) -> PoolFit:
    fit = fit_pool(parts, FRAME, common=common)
    assert fit is not None
    return fit


SHOP = [*engine("A", 0.0), *engine("B", 0.003), *engine("C", -0.002)]


def test_an_engines_lines_follow_from_its_own_readings_and_the_summary() -> None:
    whole = fitted(SHOP)
    stored = from_json(json.loads(json.dumps(whole.summary.to_json())))
    own = stored.lines([part for part in SHOP if part.id.startswith("B")])
    assert own.keys() == {"B-0", "B-1"}
    for name, line in own.items():
        assert line.at(30.0) == pytest.approx(whole.lines[name].at(30.0), rel=1e-12)
        assert line.parts == 6


def test_a_common_source_lies_in_the_summary_and_ties_no_engines_together() -> None:
    shop = [*engine("A", 0.0, 3e-4), *engine("B", 0.003, 5e-4), *engine("C", -0.002, -4e-4)]
    whole = fitted(shop, ("expansion",))
    assert len(groups_of(shop, ("expansion",))) == 3
    own = whole.summary.lines(shop[2:4], ("expansion",))
    for name, line in own.items():
        assert line.at(30.0) == pytest.approx(whole.lines[name].at(30.0), rel=1e-12)


def test_a_changed_sibling_is_seen_in_the_name_of_the_file() -> None:
    changed = [*SHOP[:-1], engine("C", -0.0021)[1]]
    assert fitted(SHOP).summary.digest == fitted(SHOP).summary.digest
    assert fitted(changed).summary.digest != fitted(SHOP).summary.digest


def test_the_file_is_small_and_reads_back_as_it_was_written() -> None:
    summary = fitted(SHOP).summary
    text = json.dumps(summary.to_json())
    assert len(text) < 60_000
    assert from_json(json.loads(text)).to_json() == summary.to_json()
    assert summary.weights.sum() == pytest.approx(1.0)


def test_what_is_no_summary_is_refused() -> None:
    with pytest.raises(KeyError):
        from_json({"weights": [1.0]})
