"""shop.yml: the shop's name, its people and its gauges. shares.yml: live links, which never leave the crew."""

import re
from typing import Annotated, Final

from pydantic import PlainValidator

from .family import MATERIALS
from .fields import Amount, Day, Id, Text, TextMap, word_of
from .fields import Share as Chance
from .model import Model

TOKEN: Final = re.compile(r"[a-z2-7]{32}")  # 160 bits in base32, lower case: what opens a link


class Units(Model):
    """What pages show first, and beside it."""

    length: Annotated[str, PlainValidator(word_of("mm", "µm", "in", "thou"))] | None = None
    also: Annotated[str, PlainValidator(word_of("mm", "µm", "in", "thou"))] | None = None


class Instrument(Model):
    """A gauge: what it resolves, how far one reading scatters, how well its zero is set."""

    name: Text | None = None
    resolution: Amount | None = None
    repeat: Amount | None = None
    zero: Amount | None = None
    uncertainty: Amount | None = None
    material: Annotated[str, PlainValidator(word_of(*MATERIALS))] | None = None
    calibrated: Day | None = None
    note: Text | None = None


class ShopFile(Model):
    """The shop's own page."""

    name: Text | None = None
    site: Text | None = None
    units: Units | None = None
    confidence: Chance | None = None
    people: TextMap | None = None
    instruments: dict[Id, Instrument] | None = None
    crew_note: Text | None = None


class Share(Model):
    """One live link."""

    engine: Id
    edition: Annotated[str, PlainValidator(word_of("owner", "buyer", "tag", "bench", "crew"))]
    token: Text | None = None
    made: Day | None = None
    until: Day | None = None
    revoked: Day | None = None
    note: Text | None = None


class Shares(Model):
    """All links, in the order in which they were made."""

    shares: list[Share] | None = None
