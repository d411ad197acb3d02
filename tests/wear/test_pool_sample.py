"""A large pool is fitted from a sample of its parts; a small one exactly as ever."""

import numpy as np
from msgspec.structs import replace

from engine_pages.history.kept_fits import NOTHING_KEPT, straight_fit
from engine_pages.wear.bends import fit_where_straight
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import fit_pool
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame
from engine_pages.wear.pool.sample import MOST_FITTED, GroupLines, sample_of

FRAME = Frame(new_width=0.022, limit_distance=0.054, service_life=120.0)
HOURS = (8.0, 19.0, 31.0)


def drawn(count: int) -> list[PoolPart]:
    """Bearings, two of an engine read by one gauge on one sheet."""
    draw, parts = np.random.default_rng(11), []
    for i in range(count):
        if i % 2 == 0:
            zeros = draw.normal(0.0, 0.001, len(HOURS))
        start, rate = draw.normal(60.051, 0.003), draw.normal(0.0005, 0.0001)
        readings = tuple(
            (
                x,
                Measured(
                    float(start + rate * x + zeros[s] + draw.normal(0.0, 0.002)), 2e-6, {("zero", i // 2, s): 0.001}
                ),
            )
            for s, x in enumerate(HOURS)
        )
        parts.append(PoolPart(f"RB-{i}", readings, 60.051))
    return parts


def speakers(parts: list[PoolPart]) -> frozenset[str] | None:
    """Who speaks, as a pool settles it."""
    speak = sample_of(parts)
    return None if speak is parts else frozenset(part.id for part in speak)


class Shelf(dict[tuple[str, str], bytes]):
    def get(self, kind: str, key: str, /) -> bytes | None:  # type: ignore[override]
        return super().get((kind, key))

    def put(self, kind: str, key: str, data: bytes, /) -> None:
        self[kind, key] = data


def test_a_small_pool_is_fitted_from_all_its_parts_to_the_last_bit() -> None:
    parts = [*drawn(9), PoolPart("RB-new", (), 60.051)]
    found, plain = straight_fit(parts, speakers(parts), FRAME, "spread", NOTHING_KEPT), fit_where_straight(parts, FRAME)
    assert found is not None
    assert plain is not None
    assert found.bent.fit.summary.digest == plain.fit.summary.digest
    assert {id: line.at(40.0) for id, line in found.bent.fit.lines.items()} == {
        id: line.at(40.0) for id, line in plain.fit.lines.items()
    }


def test_a_fit_that_was_kept_is_the_fit_that_was_made_to_the_last_bit() -> None:
    for parts in (drawn(7), drawn(MOST_FITTED + 10)):
        shelf = Shelf()
        made, kept = (straight_fit(parts, speakers(parts), FRAME, "spread", shelf) for _ in range(2))
        assert len(shelf) == 1
        assert made is not None
        assert kept is not None
        assert kept.slopes == made.slopes
        assert (kept.bent.bend, kept.bent.since, kept.bent.parts) == (made.bent.bend, made.bent.since, made.bent.parts)
        assert [kept.bent.fit.lines[p.id].at(40.0) for p in parts] == [
            made.bent.fit.lines[p.id].at(40.0) for p in parts
        ]


def test_who_speaks_for_a_large_pool_depends_on_names_alone() -> None:
    parts = drawn(MOST_FITTED + 60)
    speak = {part.id for part in sample_of(parts)}
    assert len(speak) == MOST_FITTED
    reread = [replace(part, readings=part.readings[:1]) for part in reversed(parts)]
    assert {part.id for part in sample_of(reread)} == speak
    fewer = [part for part in parts if part.id != min(speak)]
    assert len(speak & {part.id for part in sample_of(fewer)}) == MOST_FITTED - 1


def test_the_rates_of_a_large_pool_s_parts_are_those_of_a_fit_of_them_all() -> None:
    parts = drawn(MOST_FITTED * 2)
    found, whole = straight_fit(parts, speakers(parts), FRAME, "spread", NOTHING_KEPT), fit_pool(parts, FRAME)
    assert found is not None
    assert whole is not None
    for part in parts[:40]:
        one, other = found.bent.fit.lines[part.id].rate(0.9), whole.lines[part.id].rate(0.9)
        assert abs(one.value - other.value) < 0.15 * (other.high - other.low)


def test_lines_by_groups_are_those_of_all_parts_at_once() -> None:
    parts = drawn(10)
    fit = fit_pool(parts, FRAME)
    assert fit is not None
    lines = GroupLines(fit.summary, parts, ())
    assert set(lines) == set(fit.lines)
    np.testing.assert_allclose(
        [lines[p.id].at(40.0) for p in parts], [fit.lines[p.id].at(40.0) for p in parts], rtol=1e-9
    )
