"""engine.yml, parts/<serial>.yml, plan.yml, review.yml: identity, a part's life elsewhere, events to come, answers."""

from typing import Annotated, Any

from msgspec import Struct
from pydantic import Field, PlainValidator

from .family import life_amount, life_form
from .fields import Day, Distance, Id, Minutes, Serial, Share, Text, Time, Whole, as_map, each, refused, word_of
from .model import Model
from .quantity import Quantity
from .sheet import ORIGINS, Sizes
from .source import nearest
from .typed import typed_as, words


class Owner(Model):
    """An owner, and since when. Crew only in every edition."""

    name: Text
    contact: Text | None = None
    since: Day | None = Field(default=None, alias="from")


class EngineFile(Model):
    """Which engine this is."""

    engine: Id
    family: Id
    name: Text | None = None
    stamped: Text | None = None
    picture: Text | None = None
    use: Text | None = None
    built_for: Text | None = None
    owners: list[Owner] | None = None
    crew_note: Text | None = None


UNKNOWN = "unknown"  # a life that was led and that nobody knows
PRIOR_UNITS = ("hours", "km", "starts", "runs", "over_revs")


class Prior(Struct, frozen=True):
    """A part's life before the records. `known` is None where it is unknown, which is a value and never zero."""

    known: dict[str, Quantity] | None


@typed_as({"anyOf": [words([UNKNOWN]), life_form(PRIOR_UNITS, "not below zero")]})
def parse_prior(raw: Any) -> Prior:
    """A map such as {hours: 12}, or `unknown`."""
    if isinstance(raw, str):
        if raw != UNKNOWN:
            raise refused(f"{raw!r} is not known here; write unknown, or a map such as {{hours: 12}}")
        return Prior(None)
    return Prior(each(as_map(raw, "unknown, or a map such as {hours: 12},"), _prior_amount))


def _prior_amount(unit: str, raw: Any) -> Quantity:
    if unit not in PRIOR_UNITS:
        raise refused(f"unknown exposure {unit!r}; {nearest(unit, PRIOR_UNITS)}", of_key=True)
    amount = life_amount(unit, raw)
    if amount.number < 0:
        raise refused(f"{amount.written} is below 0")
    return amount


class PartFile(Model):
    """A serial-numbered part with a life before or outside the records."""

    serial: Serial
    kind: Text
    family: Id | None = None
    origin: Annotated[str, PlainValidator(word_of(*ORIGINS))] | None = None
    came_from: Text | None = Field(default=None, alias="from")
    batch: Text | None = None
    prior: Annotated[Any, PlainValidator(parse_prior)] | None = None
    size: Sizes | None = None
    note: Text | None = None
    crew_note: Text | None = None
    cost: Text | None = None


class PlanEvent(Model):
    """An event to come and the exposure that it asks for."""

    date: Day
    name: Text | None = None
    hours: Time | None = None
    minutes: Minutes | None = None
    km: Distance | None = None
    starts: Whole | None = None
    runs: Whole | None = None


class Plan(Model):
    """The season to come."""

    events: list[PlanEvent] | None = None
    keep: Share | None = None


class Answer(Model):
    """The builder's answer to a point of the review."""

    point: Text
    where: Text | None = None
    answer: Text | None = None
    why: Text | None = None
    by: Text | None = None
    date: Day | None = None


class Review(Model):
    """Answers before a sale, and points left out of the buyer's edition."""

    answers: list[Answer] | None = None
    left_out: list[Answer] | None = None
