"""An engine's figures as one JSON object, with the names that the project's figures keep from release to release.

The same records give the same bytes: keys in a fixed order, numbers rounded to what double precision carries safely.
"""

import json
import math
from collections.abc import Iterable
from typing import Any

from ..wear.exposure import Exposure
from ..wear.limits import Limit
from ..wear.trend import Crossing, Interval
from .story import (
    DimensionStory,
    DueStory,
    EngineStory,
    FitStory,
    PartStory,
    ReadingStory,
    SeasonStory,
    Stopper,
    TestStory,
    Wear,
)
from .told_season import Stands

SIGNIFICANT = 9  # digits; a gauge gives six at the most


def figures_json(engine: EngineStory, edition: str = "crew") -> str:
    """The figures as text, two blanks of indentation and a newline at the end."""
    return json.dumps(figures_of(engine, edition), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def figures_of(engine: EngineStory, edition: str = "crew") -> dict[str, Any]:
    """The figures of one engine as plain values."""
    return {
        "engine": engine.id,
        "as_of": engine.as_of.isoformat(),
        "edition": edition,
        "commit": engine.commit,
        "uncommitted": list(engine.uncommitted),
        "confidence": engine.confidence,
        "state": engine.state,
        "exposure": _exposure(engine.total),
        "since_build": _exposure(engine.since_build) if engine.since_build else None,
        "parts": [_part(part) for part in engine.parts],
        "fits": [_fit(fit) for fit in engine.fits],
        "tests": [_test(test) for test in engine.tests],
        "services": [_due(due) for due in engine.due],
        "season": _season(engine),
        "problems": [
            {"source": str(p.source), "level": p.level, "message": p.message} for p in engine.problems
        ],
    }  # fmt: skip


def _season(engine: EngineStory) -> dict[str, Any]:
    """What is planned, whether the engine lasts it, and the shortlist. No plan: no events, and null."""
    season = engine.season
    return {
        "keep": engine.keep,
        **(season_figures(season) if season else {"events": [], "lasts": None, "measure_next": [], "advice": None}),
        "first_to_stop": [_stopper(row) for row in engine.shortlist[:5]],
        "not_measured": [part.id for part in engine.parts if part.state == "not measured"],
    }


def season_figures(season: SeasonStory) -> dict[str, Any]:
    """A season's figures alone, as the command `season` prints them too."""
    return {
        "events": [
            {
                "date": one.event.day.isoformat(),
                "name": one.event.name,
                "adds": _exposure(one.event.exposure),
                "chance": _number(one.chance),
                "outer_low": _number(one.outer_low),
                "outer_high": _number(one.outer_high),
                "due": [due.name for due in one.due],
                "interval_over": [due.name for due in one.stops],
            }
            for one in season.events
        ],
        "lasts": season.lasts,
        "weakest": [_stands(one) for one in season.stands[:5]],
        "renewed": list(season.renewed),
        "not_in_the_figure": {
            "never_measured": list(season.not_measured),
            "no_rate_yet": list(season.no_rate),
            "going_out": list(season.going_out),
        },
        "measure_next": [
            {
                "part": one.part,
                "dimension": one.dimension,
                "chance": _number(one.chance),
                "doubt_settled": _number(one.settled),
                "never_read": one.never_read,
            }
            for one in season.measure_next
        ],
        "advice": season.advice,
    }


def _stands(one: Stands) -> dict[str, Any]:
    return {"part": one.part, "dimension": one.dimension_id, "chances": [_number(chance) for chance in one.chances]}


def _stopper(row: Stopper) -> str:
    """The part and what of it: `RB-1042 inside_diameter`; a fit by its own name."""
    what = row.dimension.id if row.dimension else row.what
    return what if row.part is None else f"{row.part} {what}"


def _part(part: PartStory) -> dict[str, Any]:
    return {
        "part": part.id,
        "kind": part.kind,
        "position": part.slot,
        "fitted": part.fitted_now,
        "state": part.state,
        "state_why": part.state_why,
        "decision": part.decision,
        "differs": part.differs,
        "exposure": {
            "since_new": _exposure(part.since_new),
            "since_fitted": _exposure(part.since_fitted) if part.since_fitted else None,
            "prior": part.prior,
            "taken_as_new": part.taken_as_new,
        },
        "stays": [
            {
                "engine": stay.engine,
                "position": stay.slot,
                "from": stay.began.isoformat() if stay.began else None,
                "to": stay.ended.isoformat() if stay.ended else None,
                "exposure": _exposure(stay.exposure),
            }
            for stay in part.stays
        ],
        "dimensions": [_dimension(d) for d in part.dimensions],
        "due": [_due(due) for due in part.due],
    }


def _fit(fit: FitStory) -> dict[str, Any]:
    figures = _dimension(fit.dimension)
    del figures["dimension"]
    return {"fit": fit.id, "parts": list(fit.parts), **figures}


def _dimension(d: DimensionStory) -> dict[str, Any]:
    return {
        "dimension": d.id,
        "unit": d.unit,
        "limit": _limit(d.limit),
        "limit_source": d.limit_source,
        "new": [_number(x) for x in d.new] if d.new else None,
        "baseline": _number(d.baseline),
        "baseline_from": d.baseline_from,
        "baseline_number": d.baseline_number,
        "state": d.state,
        "readings": [_reading(r) for r in d.readings],
        "allowance_used": _number(d.allowance.used) if d.allowance else None,
        "allowance_low": _number(d.allowance.low) if d.allowance else None,
        "allowance_high": _number(d.allowance.high) if d.allowance else None,
        "n": sum(1 for r in d.readings if r.baseline == d.baseline_number and r.u is not None),
        "parts_in_fit": d.parts_in_fit,
        "bend": _bend(d.wear),
        "rank_of_rate": {"place": d.wear.rank.place, "of": d.wear.rank.of} if d.wear.rank else None,
        "joint_summary": d.wear.summary,
        "rate": _rate(d.rate, d.exposure_unit),
        "to_limit": _crossing(d.to_limit, d.now),
        "chance_of_lasting_plan": _number(d.chance),
    }


def _bend(wear: Wear) -> dict[str, Any] | None:
    """Whether a constant rate fits the kind; where it does not, from which exposure on the line holds."""
    if wear.bend is None:
        return None
    return {
        "bends": wear.bend.bends,
        "rate": wear.bend.rate,
        "chance_of_none": _number(wear.bend.chance),
        "line_from": _number(wear.since),
    }


def _reading(r: ReadingStory) -> dict[str, Any]:
    return {
        "date": r.day.isoformat(),
        "exposure": _number(r.exposure),
        "written": r.written,
        "kind": r.kind,
        "value": _number(r.value),
        "value_20c": _number(r.value_20c),
        "u": _number(r.u),
        "station": r.station,
        "instrument": r.instrument,
        "gauge_assumed": r.gauge_assumed,
        "corrected": r.corrected,
        "baseline": r.baseline,
        "verdict": r.verdict,
        "source": r.source.line_text,
    }


def _rate(rate: Interval | None, unit: str) -> dict[str, Any] | None:
    if rate is None:
        return None
    return {"per": unit, "value": _number(rate.value), "low": _number(rate.low), "high": _number(rate.high)}


def _crossing(crossing: Crossing | None, now: float | None) -> dict[str, Any] | None:
    if crossing is None:
        return None
    return {
        "from": _number(now),
        "median": _number(crossing.median),
        "low": _number(crossing.low),
        "high": _number(crossing.high),
    }


def _test(test: TestStory) -> dict[str, Any]:
    return {
        "test": test.test,
        "date": test.sheet.day.isoformat(),
        "unit": test.unit,
        "rpm": _number(test.rpm),
        "at_rpm": _number(test.at_rpm),
        "readings": {
            key: [
                {
                    "written": c.written,
                    "value": _number(c.value),
                    "corrected": _number(c.corrected),
                    "verdict": c.verdict,
                }
                for c in chambers
            ]
            for key, _, chambers in test.rows
        },
        "not_corrected": test.not_corrected,
        "spread": {"chambers": _number(test.spread_chambers), "rows": _number(test.spread_rows)},
        "state": test.state,
        "source": test.source.line_text,
    }


def _due(due: DueStory) -> dict[str, Any]:
    return {
        "service": due.id or due.name,
        "what": due.what,
        "part": due.part,
        "rule": due.rule,
        "since": _numbers(due.since.items()),
        "due_in": _numbers(due.left.items()),
        "due_on": due.due_on.isoformat() if due.due_on else None,
        "state": due.state,
        "because": due.because,
        "source": due.source.line_text if due.source else None,
    }


def _limit(limit: Limit | None) -> dict[str, float | None] | None:
    if limit is None:
        return None
    ends = (("min", limit.min), ("max", limit.max))
    return {name: _number(value) for name, value in ends if value is not None}


def _exposure(exposure: Exposure) -> dict[str, Any]:
    figures: dict[str, Any] = {
        name: _number(exposure.amount(name)) for name in ("hours", "km", "starts", "runs", "over_revs", "above_redline")
    }
    return {**figures, "at_least": True} if exposure.at_least else figures


def _numbers(items: Iterable[tuple[str, float]]) -> dict[str, float | None]:
    return {name: _number(value) for name, value in items}


def _number(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    rounded = float(f"{value:.{SIGNIFICANT}g}")
    return 0.0 if abs(rounded) < 1e-12 else rounded
