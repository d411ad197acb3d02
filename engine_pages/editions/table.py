"""Who sees what: for each kind of record the fields that leave the crew. What is not named here does not leave.

`SHOWN` is what an owner or a buyer may read of the shared engine. `RECKONED` follows it into the reckoning alone: its
figures would be others without it, and no page shows it. `ELSEWHERE` is what counts of any other engine that one of its
parts has been in, or whose parts are like its own: figures, and no words.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from ..records.engine import Answer, EngineFile, Owner, PartFile, Plan, PlanEvent, Review
from ..records.log import LogLine
from ..records.model import Model
from ..records.sheet import Fluids, Photo, PositionLine, Sheet, Work
from ..records.shop import Instrument, Share, Shares, ShopFile, Units

Edition = Literal["crew", "owner", "buyer", "tag", "bench"]
Reader = Literal["owner", "buyer"]
EDITIONS: Final[tuple[Edition, ...]] = ("crew", "owner", "buyer", "tag", "bench")
READ_AS: Final[Mapping[Edition, Reader]] = MappingProxyType(
    {"owner": "owner", "buyer": "buyer", "tag": "buyer", "bench": "buyer"}
)  # the tag and the bench show less still: what their pages take from the story
Table = Mapping[type[Model], frozenset[str]]


def _fields(*names: str) -> frozenset[str]:
    return frozenset(names)


SHOWN: Final[Table] = MappingProxyType(
    {
        ShopFile: _fields("name", "units", "confidence", "instruments"),  # of people the initials: see `cut_records`
        Units: _fields("length", "also"),
        Instrument: _fields("name", "resolution", "repeat", "zero", "uncertainty", "material", "calibrated", "note"),
        EngineFile: _fields("engine", "family", "name", "stamped", "picture", "use"),
        Owner: _fields(),
        PartFile: _fields("serial", "kind", "origin", "batch", "prior", "size", "note"),
        Sheet: _fields(
            *("engine", "date", "sheet", "reason", "by", "counter", "temperature", "instruments", "note", "photos"),
            *("positions", "fits", "work", "tests", "torque", "fluids", "correction"),
        ),
        PositionLine: _fields(
            "part", "measured", "observed", "finding", "photos", "decision", "because", "why", "correction"
        ),
        Photo: _fields("view", "caption"),
        Work: _fields("part", "did", "dimensions", "size"),
        Fluids: _fields("oil", "fuel", "premix", "injected", "coolant", "filter"),
        LogLine: _fields(
            *("date", "kind", "what", "hours", "minutes", "km", "starts", "runs", "peak_rpm", "over_revs"),
            *("oil_pressure_min", "water_max", "counter", "did", "fluids", "note", "why"),
        ),
        Plan: _fields("events", "keep"),
        PlanEvent: _fields("date", "name", "hours", "minutes", "km", "starts", "runs"),
        Review: _fields("answers"),
        Answer: _fields("point", "answer", "by", "date"),
        Share: _fields(),
        Shares: _fields(),
    }
)
RECKONED: Final[Table] = MappingProxyType(
    {
        PartFile: _fields("family"),
        Sheet: _fields("rest", "opened"),
        PositionLine: _fields("origin", "size"),
        Photo: _fields("file", "crew_only"),  # the way to its bytes, and the mark by which it is left out
        Work: _fields("position"),
        LogLine: _fields("counter_was", "above_redline"),
    }
)
ELSEWHERE: Final[Table] = MappingProxyType(
    {
        EngineFile: _fields("engine", "family"),
        PartFile: _fields("serial", "kind", "family", "prior", "size", "origin"),
        Sheet: _fields(
            *("engine", "date", "reason", "counter", "temperature", "instruments", "positions", "rest", "opened"),
            *("fits", "work"),
        ),
        PositionLine: _fields("part", "origin", "size", "measured", "observed", "decision", "because"),
        Photo: _fields(),
        Work: _fields("part", "position", "dimensions", "size", "did"),
        LogLine: _fields(
            *("date", "kind", "what", "hours", "minutes", "km", "starts", "runs", "over_revs", "counter"),
            *("counter_was", "above_redline"),
        ),
    }
)

# Fields of chosen words and names that the records know each other by: what stands there is no free text.
CLOSED: Final = frozenset(
    (
        *("engine", "family", "serial", "part", "position", "kind", "what", "reason", "because", "decision", "origin"),
        *("rest", "opened", "dimensions", "material", "length", "also", "file", "date"),
        *("crew_only", "point", "where", "edition", "token"),
    )
)


def of_this_engine(model: type[Model]) -> frozenset[str]:
    """The fields of a model that follow the shared engine's story out of the crew.

    >>> "crew_note" in of_this_engine(Sheet), "note" in of_this_engine(Sheet)
    (False, True)
    """
    return SHOWN.get(model, frozenset()) | RECKONED.get(model, frozenset())


def of_another(model: type[Model]) -> frozenset[str]:
    """The fields of a model that count where it speaks of another engine."""
    return ELSEWHERE.get(model, frozenset())
