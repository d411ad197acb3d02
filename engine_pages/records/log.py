"""log.yml: runs, services, changes and incidents, in date order."""

from types import MappingProxyType
from typing import Annotated

from pydantic import PlainValidator

from .family import INCIDENTS
from .fields import Day, Distance, Minutes, Pressure, Speed, Temperature, Text, Texts, Time, Whole, word_of
from .model import Model
from .sheet import Fluids
from .typed import Schema, or_blank, words

RUNS = ("dyno", "practice", "race", "street", "other")
WHAT = MappingProxyType({"run": RUNS, "incident": INCIDENTS})  # what may stand after what:, by the kind of the line
ANY_WHAT = tuple(dict.fromkeys((*RUNS, *INCIDENTS)))


class LogLine(Model):
    """One line of the log. Any key may stand on any kind of line."""

    date: Day
    kind: Annotated[str, PlainValidator(word_of("run", "service", "change", "incident"))]
    what: Text | None = None
    hours: Time | None = None
    minutes: Minutes | None = None
    km: Distance | None = None
    starts: Whole | None = None
    runs: Whole | None = None
    peak_rpm: Speed | None = None
    over_revs: Whole | None = None
    above_redline: Time | None = None
    oil_pressure_min: Pressure | None = None
    water_max: Temperature | None = None
    counter: Time | None = None
    counter_was: Time | None = None
    did: Texts | None = None
    fluids: Fluids | None = None
    note: Text | None = None
    crew_note: Text | None = None
    why: Text | None = None
    cost: Text | None = None
    invoice: Text | None = None
    correction: Texts | None = None

    @classmethod
    def as_typed(cls, form: Schema) -> Schema:
        """What a run is called, an incident is not."""
        rules = [
            {
                "if": {"properties": {"kind": {"enum": [kind]}}, "required": ["kind"]},
                "then": {"properties": {"what": or_blank(words(allowed))}},
            }
            for kind, allowed in WHAT.items()
        ]
        anything = {"properties": {"what": or_blank(words(ANY_WHAT))}}
        return {**form, "allOf": [anything, *rules]}
