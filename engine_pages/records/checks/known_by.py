"""What was known by a day: checked records in, the same without what is dated later out.

Leaving the later lines out before anything is worked out is the one way in which a past day stays past: a counter read
in May must not settle the hours of March for somebody who asks about April.
"""

from collections.abc import Mapping
from datetime import date

from msgspec.structs import replace

from ..load import EngineRecords, Shop
from .all import check_shop
from .checked import Checked


def known_by(checked: Checked, day: date) -> Checked:
    """The records as far as they are dated no later than `day`; where none is later, they come back as they are."""
    engines = {name: _until(records, day) for name, records in checked.shop.engines.items()}
    if all(engines[name] is records for name, records in checked.shop.engines.items()):
        return checked
    return check_shop(_with(checked.shop, engines), checked.today, checked.repo, checked.beyond)


def _until(records: EngineRecords, day: date) -> EngineRecords:
    log = [entry for entry in records.log if entry.line.date.day <= day]
    sheets = [sheet for sheet in records.sheets if sheet.day <= day]
    if len(log) == len(records.log) and len(sheets) == len(records.sheets):
        return records
    return replace(records, log=log, sheets=sheets)


def _with(shop: Shop, engines: Mapping[str, EngineRecords]) -> Shop:
    return replace(shop, engines=dict(engines))
