"""An engine's records in an edition, written anew as YAML: what the table of editions shows, and no comment, no camera.

In: records that were cut to the edition, and the photos that go with them. Out: files as a shop has them, which the
project's own reader reads. Figures stand as they were typed. Of what is reckoned with and not shown there is only that
without which a sheet would say something else: `rest`, `opened`, a photo's (published) name, and the place of work that
names no part. Figures that rest on more are in figures.json.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from functools import partial
from types import MappingProxyType
from typing import Any, Final

import yaml
from msgspec import Struct, field

from ..records.checks.checked import Checked
from ..records.engine import UNKNOWN, PartFile, Prior
from ..records.fields import When
from ..records.ids import file_id
from ..records.load import EngineRecords, LogEntry
from ..records.measurement import Reading
from ..records.model import GATHERED, Model
from ..records.quantity import Bracket, NotMeasurable, OneSided, Quantity
from ..records.sheet import Photo, Sheet, TestRun, Work
from .forbidden import Forbidden
from .table import SHOWN, Table

NEEDED: Final[Table] = MappingProxyType({Sheet: frozenset(("rest", "opened")), Work: frozenset(("position",))})
PROSE: Final = frozenset(("name", "source", "grades"))  # of a family: words of somebody's own
PHOTOS: Final = "photos"
AMOUNTS: Final = (Quantity, Bracket, OneSided, NotMeasurable)
# Where libyaml writes what Python's own emitter writes otherwise: letters beyond U+FFFF, and keys of over 128 bytes.
_OTHERWISE: Final = re.compile(r"\\U|^\s*(?:- )*\? ", re.MULTILINE)
_MAP, _LIST, _TEXT = (f"tag:yaml.org,2002:{name}" for name in ("map", "seq", "str"))
_WIDE: Final = 1 << 20  # no line is broken within a text
Plain = dict[str, Any] | list[Any] | str | None


def records_files(
    cut: Checked, engine: str, forbidden: Forbidden, photos: Mapping[str, str]
) -> dict[str, Callable[[], bytes]]:
    """The record files of one engine, by their paths in a shop's folder.

    `cut` holds what `cut_records` left. `photos` are the published paths of its photos by their own paths; a photo that
    is not among them is not handed over, and its line goes.
    """
    shop = cut.shop
    records = shop.engines[engine]
    assert records.file is not None
    family = shop.families[records.file.it.family].it
    own = {stay.part.id for stay in cut.fitting.stays if stay.engine == engine}
    made: dict[str, Plain] = {f"families/{family.family}.yml": _family(forbidden).of(family)}
    if shop.file is not None:
        people = {"people": dict(shop.file.it.people)} if shop.file.it.people else {}
        made["shop.yml"] = {**_Writer().of(shop.file.it), **people}
    made |= _parts(part.it for name, part in shop.parts.items() if name in own)
    made |= _engine(records, _Writer(photos, f"engines/{engine}"), own)
    return {path: partial(yaml_bytes, value) for path, value in made.items()}


def _parts(parts: Iterable[PartFile]) -> Iterator[tuple[str, Plain]]:
    names: set[str] = set()
    for part in parts:
        name = file_id(part.serial)
        while name.casefold() in names:  # two serials whose signs a file name does not tell apart
            name += "-"
        names.add(name.casefold())
        yield f"parts/{name}.yml", _Writer().of(part)


def _engine(records: EngineRecords, writer: "_Writer", own: set[str]) -> Iterator[tuple[str, Plain]]:
    folder = f"engines/{records.id}"
    assert records.file is not None
    picture = writer.photos.get(f"{folder}/{records.file.it.picture}")
    named = {"picture": picture.rsplit("/", 1)[1]} if picture else {}
    it = records.file.it.model_copy(update={"picture": None})
    yield f"{folder}/engine.yml", {**writer.of(it), **named}
    if records.plan is not None:
        yield f"{folder}/plan.yml", writer.of(records.plan.it)
    if records.review is not None and records.review.it.answers:
        yield f"{folder}/review.yml", writer.of(records.review.it)
    if records.log:
        yield f"{folder}/log.yml", [writer.of(entry.line) for entry in _in_order(records.log)]
    for sheet in records.sheets:
        of_sheet = _Writer(writer.photos, sheet.photo_folder)
        work = [_of_a_part(one) for one in sheet.it.work or () if one.part is None or one.part in own]
        yield sheet.path, of_sheet.of(sheet.it.model_copy(update={"work": work or None}))


def _of_a_part(work: Work) -> Work:
    """Work on a part that is named; where it was done then goes without saying."""
    return work if work.part is None else work.model_copy(update={"position": None})


def _in_order(log: list[LogEntry]) -> list[LogEntry]:
    """As one file tells them; of several files by the day, each in its own order."""
    files = {entry.document.path for entry in log}
    return log if len(files) == 1 else sorted(log, key=lambda entry: entry.line.date.day)


def _shown(model: type[Model]) -> frozenset[str]:
    return SHOWN.get(model, frozenset()) | NEEDED.get(model, frozenset())


def _all(model: type[Model]) -> frozenset[str]:
    return frozenset(model.model_fields)


def _as_it_is(_field: str, text: str) -> str:
    return text


def _family(forbidden: Forbidden) -> "_Writer":
    """A family goes whole; in its names and sources other engines and people are blanked."""
    return _Writer(fields=_all, words=lambda field, text: forbidden.blanked(text) if field in PROSE else text)


class _Writer(Struct, frozen=True):
    """Writes values as they were typed.

    `photos` and `folder`: the published paths of photos, and where those of this record lie. `fields`: which of a model
    go. `words`: what becomes of a text that stands in a field.
    """

    photos: Mapping[str, str] = field(default_factory=dict)
    folder: str = ""
    fields: Callable[[type[Model]], frozenset[str]] = _shown
    words: Callable[[str, str], str] = _as_it_is

    def of(self, it: Model) -> dict[str, Plain]:
        """A model's fields that go and are written, by the keys that a file has for them."""
        kept = self.fields(type(it))
        out: dict[str, Plain] = {}
        for name, how in type(it).model_fields.items():
            value = getattr(it, name)
            if name not in kept or value is None:
                continue
            written = self.value(name, value)
            if name == PHOTOS and not written:
                continue  # that some were kept back goes without a trace
            if how.alias == GATHERED:  # its maps stand beside the model's own keys
                out |= written
            else:
                out[how.alias or name] = written
        return out

    def value(self, key: str, value: Any) -> Any:
        """A value as text, or lists and maps of texts. TypeError for what nobody has thought of."""
        if isinstance(value, Model):
            return self.of(value)
        if isinstance(value, dict):
            return {name: self.value(key, inner) for name, inner in value.items()}
        if isinstance(value, list | tuple):
            return [written for inner in value if (written := self._item(key, inner)) is not None]
        if isinstance(value, Reading):
            return self._reading(value)
        if isinstance(value, TestRun):
            return {**value.circumstances, **self.value(key, value.readings)}
        return value if value is None else self._text(key, value)

    def _item(self, key: str, value: Any) -> Any:
        """One of a list; a photo by its published name, and nothing in the place of one that is not handed over."""
        if not isinstance(value, Photo):
            return self.value(key, value)
        path = self.photos.get(f"{self.folder}/{value.file}")
        return None if path is None else {"file": path.rsplit("/", 1)[1], **self.of(value)}

    def _text(self, key: str, value: Any) -> Any:
        if isinstance(value, str):
            return self.words(key, value)
        if isinstance(value, AMOUNTS):
            return value.written
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, Prior):
            return UNKNOWN if value.known is None else {unit: amount.written for unit, amount in value.known.items()}
        if isinstance(value, int | When):
            return str(value)
        if isinstance(value, Decimal):
            return f"{value:f}"
        raise TypeError(f"{type(value).__name__} is nothing that is known how to be written")

    def _reading(self, reading: Reading) -> Plain:
        values = [one.written for one in reading.values]
        about = {"instrument": reading.instrument, "by": reading.by}
        if reading.temperature is not None:
            about["temperature"] = reading.temperature.written
        known = {name: text for name, text in about.items() if text is not None}
        value = values[0] if len(values) == 1 else values
        return {"value": value, **known} if known else value


_RARE_ENDS = frozenset("\x85\u2028\u2029")  # next line, line and paragraph separator: breaks in YAML 1.1, 5.4


def yaml_bytes(value: Plain) -> bytes:
    """A record as a file: blocks, with lists and maps of texts alone on one line; a key with nothing after it is bare.

    >>> yaml_bytes({"part": "00123", "measured": {"bore": ["60.061", "60.060"]}, "note": "a: b"}).decode().splitlines()
    ['part: 00123', 'measured:', '  bore: [60.061, 60.060]', "note: 'a: b'"]
    """
    node = _node(value, top=True)
    text: str = yaml.serialize(node, Dumper=yaml.CBaseDumper, allow_unicode=True, width=_WIDE)
    if _OTHERWISE.search(text):
        text = yaml.serialize(node, Dumper=yaml.BaseDumper, allow_unicode=True, width=_WIDE)
    return text.encode("utf-8")


def _node(value: Plain, top: bool = False) -> yaml.Node:
    """A value as the emitter takes it, in which every scalar is text: nothing is quoted for looking like a number."""
    if isinstance(value, dict):
        pairs = [(_node(key), _node(inner)) for key, inner in value.items()]
        return yaml.MappingNode(_MAP, pairs, flow_style=not top and _is_leaf(value.values()))
    if isinstance(value, list):
        return yaml.SequenceNode(_LIST, [_node(inner) for inner in value], flow_style=not top and _is_leaf(value))
    return yaml.ScalarNode(_TEXT, value or "", style=_style(value))


def _style(text: str | None) -> str | None:
    """How a text must be quoted; None leaves it to the emitter, which folds the rarer line ends to blanks."""
    if text == "":
        return "'"
    return '"' if text is not None and _RARE_ENDS.intersection(text) else None


def _is_leaf(values: Iterable[Plain]) -> bool:
    return all(isinstance(one, str) for one in values)
