"""The figures of a question, season or change, as plain values: for the engine's figures and for the commands."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from ..wear.change import ChangeAnswer
from ..wear.trend import Interval
from .figure_numbers import exposure_figures, number
from .season_words import WHY
from .told_changes import ChangeStory, KindAnswer
from .told_season import LeftOut, SeasonEvent, SeasonStory, Stands


def season_figures(season: SeasonStory) -> dict[str, Any]:
    """A season's figures alone, as the command `season` prints them too."""
    return {
        "events": [_event(one) for one in season.events],
        "lasts": season.lasts,
        "months_reckoned": not season.undated,
        "weakest": [_stands(one) for one in season.stands[:5]],
        "renewed": list(season.renewed),
        "not_measured": left_out_names(season.out("never measured")),
        "not_in_the_figure": {
            why.replace(" ", "_"): left_out_names(season.out(why)) for why in WHY if why != "never measured"
        },
        "outlived": [
            {"kind": one.kind_name, "nine_of_ten_reach": number(one.reached), "run_by_then": number(one.runs)}
            for one in season.outlived
        ],
        "measure_next": [
            {
                "part": one.part,
                "dimension": one.dimension,
                "chance": number(one.chance),
                "doubt_settled": number(one.settled),
                "never_read": one.never_read,
            }
            for one in season.measure_next
        ],
        "advice": season.advice,
    }


def left_out_names(left: Sequence[LeftOut]) -> list[str]:
    """The part and what of it: `RB-1042 inside_diameter`; a fit by its own id, a part that goes out by its own."""
    return [" ".join(word for word in (one.part, one.id) if word) for one in left]


def _event(one: SeasonEvent) -> dict[str, Any]:
    """An event; what is not written of it is null."""
    adds = exposure_figures(one.event.exposure)
    return {
        "date": one.event.day.isoformat(),
        "name": one.event.name,
        "adds": {unit: None if unit in one.event.exposure.unwritten else amount for unit, amount in adds.items()},
        "chance": number(one.chance),
        "outer_low": number(one.outer_low),
        "outer_high": number(one.outer_high),
        "due": [due.name for due in one.due],
        "overdue": [due.name for due in one.overdue],
        "interval_over": [due.name for due in one.stops],
        "interval_not_known": [due.name for due in one.unsure],
    }


def change_figures(change: ChangeStory) -> dict[str, Any]:
    """A change of recipe, as the command `compare` prints it."""
    return {
        "fluid": change.fluid,
        "from": change.before,
        "to": change.after,
        "kind": change.kind,
        "made": [
            {
                "engine": one.engine,
                "date": one.day.isoformat(),
                "back": one.back,
                "why": one.why,
                "before_it": list(one.looked_bad),
            }
            for one in change.made
        ],
        **_answer(change.answer),
        "kinds_apart": [_named(one) for one in change.apart],
        "kinds": [_kind(one) for one in change.kinds],
        "intervals": [
            {
                "engine": one.engine,
                **_days(one.began, one.ended),
                "sheets": [ref and ref.path for ref in (one.first, one.last)],
                "side": one.side,
                "on": change.before if one.side == "before" else change.after,
                "run": number(one.run),
                "per": one.per,
                "increments": one.increments,
            }
            for one in change.intervals
        ],
        "left_out": [
            {"part": one.part, "dimension": one.dimension, **_days(one.began, one.ended), "why": one.why}
            for one in change.left_out
        ],
        "intervals_left_out": [
            {
                "sheets": [one.first.path, one.last.path],
                "why": one.why,
                "more": one.more,
                "parts": list(one.parts),
                "increments": one.increments,
            }
            for one in change.intervals_out
        ],
        "meanwhile": list(change.meanwhile),
        "no_wear_yet": list(change.unknown_rate),
    }  # fmt: skip


def _days(began: date, ended: date) -> dict[str, str]:
    return {"from": began.isoformat(), "to": ended.isoformat()}


def _kind(one: KindAnswer) -> dict[str, Any]:
    rate = {"unit": one.unit, "per": one.per, "usual_rate": number(one.usual)}
    return {**_named(one), **rate, **_answer(one.answer)}


def _named(one: KindAnswer) -> dict[str, Any]:
    return {"family": one.family, "kind": one.kind, "dimension": one.dimension}


def _answer(answer: ChangeAnswer) -> dict[str, Any]:
    """Verdict and figures; rates in multiples of the usual one."""
    fit = answer.fit
    figures = None if fit is None else {
        "before": _interval(fit.before),
        "after": _interval(fit.after),
        "ratio": {"value": number(fit.ratio.value), "low": number(fit.ratio.low), "high": number(fit.ratio.high)},
    }  # fmt: skip
    return {
        "verdict": answer.verdict,
        "why": answer.why,
        "intervals_before": answer.before.intervals,
        "intervals_after": answer.after.intervals,
        "increments_before": answer.before.increments,
        "increments_after": answer.after.increments,
        "figures": figures,
    }


def _interval(one: Interval) -> dict[str, Any]:
    return {"value": number(one.value), "low": number(one.low), "high": number(one.high)}


def _stands(one: Stands) -> dict[str, Any]:
    return {"part": one.part, "dimension": one.dimension_id, "chances": [number(chance) for chance in one.chances]}
