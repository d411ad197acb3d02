"""An engine's figures as one JSON object, with the names that the project's figures keep from release to release.

The same records give the same bytes: keys in a fixed order, numbers rounded to what double precision carries safely.
"""

from typing import Any

from ..wear.trend import Crossing, Interval
from .figure_numbers import as_json, exposure_figures, limit_figures, number, numbers
from .question_figures import left_out_names, season_figures
from .season_stakes import never_measured
from .story import (
    DimensionStory,
    DueStory,
    EngineStory,
    FitStory,
    PartStory,
    ReadingStory,
    Stopper,
    TestStory,
    Wear,
)


def figures_json(engine: EngineStory, edition: str = "crew") -> str:
    """The figures as text, two blanks of indentation and a newline at the end."""
    return as_json(figures_of(engine, edition))


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
        "exposure": exposure_figures(engine.total),
        "since_build": exposure_figures(engine.since_build) if engine.since_build else None,
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
        **(season_figures(season) if season else _no_season(engine)),
        "first_to_stop": [_stopper(row) for row in engine.shortlist[:5]],
    }


def _no_season(engine: EngineStory) -> dict[str, Any]:
    unread = left_out_names(never_measured(engine.parts, engine.fits))
    return {"events": [], "lasts": None, "not_measured": unread, "measure_next": [], "advice": None}


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
            "since_new": exposure_figures(part.since_new),
            "since_fitted": exposure_figures(part.since_fitted) if part.since_fitted else None,
            "prior": part.prior,
            "taken_as_new": part.taken_as_new,
        },
        "stays": [
            {
                "engine": stay.engine,
                "position": stay.slot,
                "from": stay.began.isoformat() if stay.began else None,
                "to": stay.ended.isoformat() if stay.ended else None,
                "exposure": exposure_figures(stay.exposure),
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
        "limit": limit_figures(d.limit),
        "limit_source": d.limit_source,
        "new": [number(x) for x in d.new] if d.new else None,
        "baseline": number(d.baseline),
        "baseline_from": d.baseline_from,
        "baseline_number": d.baseline_number,
        "state": d.state,
        "readings": [_reading(r) for r in d.readings],
        "allowance_used": number(d.allowance.used) if d.allowance else None,
        "allowance_low": number(d.allowance.low) if d.allowance else None,
        "allowance_high": number(d.allowance.high) if d.allowance else None,
        "n": sum(1 for r in d.readings if r.baseline == d.baseline_number and r.u is not None),
        "parts_in_fit": d.parts_in_fit,
        "bend": _bend(d.wear),
        "rank_of_rate": {"place": d.wear.rank.place, "of": d.wear.rank.of} if d.wear.rank else None,
        "joint_summary": d.wear.summary,
        "rate": _rate(d.rate, d.exposure_unit),
        "to_limit": _crossing(d.to_limit, d.now),
        "chance_of_lasting_plan": number(d.chance),
    }


def _bend(wear: Wear) -> dict[str, Any] | None:
    """Whether a constant rate fits the kind; where it does not, from which exposure on the line holds."""
    if wear.bend is None:
        return None
    return {
        "bends": wear.bend.bends,
        "rate": wear.bend.rate,
        "chance_of_none": number(wear.bend.chance),
        "line_from": number(wear.since),
    }


def _reading(r: ReadingStory) -> dict[str, Any]:
    return {
        "date": r.day.isoformat(),
        "exposure": number(r.exposure),
        "written": r.written,
        "kind": r.kind,
        "value": number(r.value),
        "value_20c": number(r.value_20c),
        "u": number(r.u),
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
    return {"per": unit, "value": number(rate.value), "low": number(rate.low), "high": number(rate.high)}


def _crossing(crossing: Crossing | None, now: float | None) -> dict[str, Any] | None:
    if crossing is None:
        return None
    return {
        "from": number(now),
        "median": number(crossing.median),
        "low": number(crossing.low),
        "high": number(crossing.high),
    }


def _test(test: TestStory) -> dict[str, Any]:
    return {
        "test": test.test,
        "date": test.sheet.day.isoformat(),
        "unit": test.unit,
        "rpm": number(test.rpm),
        "at_rpm": number(test.at_rpm),
        "readings": {
            key: [
                {
                    "written": c.written,
                    "value": number(c.value),
                    "corrected": number(c.corrected),
                    "verdict": c.verdict,
                }
                for c in chambers
            ]
            for key, _, chambers in test.rows
        },
        "not_corrected": test.not_corrected,
        "spread": {"chambers": number(test.spread_chambers), "rows": number(test.spread_rows)},
        "state": test.state,
        "source": test.source.line_text,
    }


def _due(due: DueStory) -> dict[str, Any]:
    return {
        "service": due.id or due.name,
        "what": due.what,
        "part": due.part,
        "rule": due.rule,
        "since": numbers(due.since.items()),
        "due_in": numbers(due.left.items()),
        "due_on": due.due_on.isoformat() if due.due_on else None,
        "state": due.state,
        "because": due.because,
        "source": due.source.line_text if due.source else None,
    }
