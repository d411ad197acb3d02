"""What engines that share parts say to the rest of the shop: their checked records in, plain JSON out.

A reader of another engine leans on no more than this: what the table gives of an engine elsewhere, as members of pools
and as lives; and, for the checks, its names, its sheets' numbers and its serials.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from ..history.book import Book, open_book
from ..history.candidates import to_json
from ..history.gathering import subjects_of
from ..history.pools import Key, Pools, fit_name
from ..history.season_lives import told_life
from ..history.tell import until_of
from ..records.checks.checked import Checked
from ..records.checks.known_by import known_by
from ..records.checks.names import borne_in, together
from ..records.checks.parts import serial_places
from .cut_records import cut_elsewhere

Gist = dict[str, Any]
SEPARATOR: Final = "\0"  # between the names of a pool's key, none of which holds it


def gist_of(checked: Checked) -> Gist:
    """The gist of a few engines, or of parts that were never in one. It is plain JSON, and the same for any reader."""
    book = open_book(known_by(cut_elsewhere(checked), checked.today))
    return {
        "errors": [str(one) for one in checked.problems if one.level == "error"],
        "latest": max((day.isoformat() for day in _days(checked)), default=""),
        "names": _by_readers(together(borne_in(checked))),
        "numbers": [[sheet.kind, sheet.it.sheet, sheet.day.isoformat(), sheet.path]
                    for sheet in checked.sheets() if sheet.it.sheet],
        "serials": {serial: str(place) for serial, place in sorted(serial_places(checked).items())},
        "pools": {SEPARATOR.join(key): added for key, added in _pools(book)},
        "lives": _lives(book),
    }  # fmt: skip


def _by_readers(names: Mapping[str, frozenset[str]]) -> list[list[list[str]]]:
    """The engines whose readers may know a name, and all names of which they are these."""
    found: dict[tuple[str, ...], list[str]] = {}
    for name, may in sorted(names.items()):
        found.setdefault(tuple(sorted(may)), []).append(name)
    return [[[*may], alike] for may, alike in found.items()]


def key_of_pool(written: str) -> Key:
    """A pool's key, as it stands in a gist."""
    return tuple(written.split(SEPARATOR))


def _days(checked: Checked) -> Iterator[date]:
    for records in checked.engines():
        yield from (sheet.day for sheet in records.sheets)
        yield from (entry.line.date.day for entry in records.log)


def _pools(book: Book) -> Iterator[tuple[Key, list[Any]]]:
    """What the book's own parts and pairs add to each pool."""
    pools = Pools(book, until_of(book.checked.today))
    found: dict[Key, list[Any]] = {}
    for part in book.checked.fitting.parts.values():
        record = book.checked.shop.families.get(part.family)
        if record is None or part.kind not in record.it.kinds:
            continue
        for subject in subjects_of(record.it.kinds[part.kind]):
            key = pools.key_of(record.it, part, subject)
            if key not in found:
                found[key] = [to_json(one) for one in pools.own_parts(record.it, key)]
    for _, record in sorted(book.checked.shop.families.items()):
        for name in dict.fromkeys(fit_name(record.it, fit) for fit in record.it.fits or {}):
            pairs = [to_json(one) for one in pools.own_pairs(record.it, name)]
            if pairs:
                found[record.it.family, "fit", name] = pairs
    yield from sorted(found.items())


def _lives(book: Book) -> dict[str, dict[str, list[Any]]]:
    """The lives of the book's own parts, by family and kind."""
    until = until_of(book.checked.today)
    found: dict[str, dict[str, list[Any]]] = {}
    for part in sorted(book.checked.fitting.parts.values(), key=lambda one: one.id):
        record = book.checked.shop.families.get(part.family)
        if record is not None and part.kind in record.it.kinds and record.it.kinds[part.kind].whole is not True:
            life = told_life(book, record.it, part, until)
            of_kind = found.setdefault(part.family, {}).setdefault(part.kind, [])
            of_kind.append(life)
    return found
