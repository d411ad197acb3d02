"""A told engine cut to one reader: what another engine's sheets say of its parts loses names, days and words.

In: a story that was told from cut records, the shared engine, what is forbidden. Out: the story with nothing of another
engine in it but exposures, readings and months.
"""

from collections.abc import Callable
from datetime import date
from operator import is_
from typing import Any, Final, TypeVar, cast

from msgspec import Struct
from msgspec.structs import replace

from ..history.months import MonthOnly
from ..history.story import (
    EngineStory,
    FoundStory,
    Jump,
    LogStory,
    PartStory,
    PhotoStory,
    ReadingStory,
    SheetRef,
    ShopStory,
    Stay,
)
from ..records.source import Problem, Source
from .forbidden import Forbidden

ANOTHER: Final = "another engine"
SHORT_COMMIT: Final = 7  # letters, as git shortens an id
NEVER_WRITTEN: Final = frozenset(("above redline", "counter was"))  # of a log line: reckoned with, and not shown
T = TypeVar("T")


def cut_story(told: EngineStory, shop: str, forbidden: Forbidden) -> ShopStory:
    """The story of one engine as a shop of its own. `shop`: what the shop is called."""
    engine = _Cut(told.id, forbidden).of(told)
    commit = told.commit[:SHORT_COMMIT] if told.commit else None
    engine = replace(
        engine,
        commit=commit,
        built_for=None,
        people={initials: initials for initials in told.people},
        problems=tuple(one for one in engine.problems if one.source.path != ANOTHER),
        log=tuple(_log(line) for line in engine.log),
        sheets=tuple(
            replace(sheet, crew_note=None, commit=sheet.commit[:SHORT_COMMIT] if sheet.commit else None)
            for sheet in engine.sheets
        ),
    )
    return ShopStory(
        name=shop,
        engines=(engine,),
        parts=(*engine.parts, *engine.former_parts),
        problems=engine.problems,
        inbox=(),
        as_of=engine.as_of,
        commit=commit,
    )


def _log(line: LogStory) -> LogStory:
    return replace(line, words=tuple(pair for pair in line.words if pair[0] not in NEVER_WRITTEN))


class _Cut(Struct, frozen=True):
    """Walks a story and cuts every value in it, each by its type; figures, and what is no part of a story, stay."""

    engine: str
    forbidden: Forbidden

    def of(self, value: T) -> T:
        """The value, cut; the very same where nothing of it goes."""
        return cast(T, self._cut(value))

    def _cut(self, value: Any) -> Any:
        kind = type(value)
        own = _BY_TYPE.get(kind)
        if own is not None:
            return own(self, value)
        return self._inside(value) if _TOLD_FIELDS[kind] else value

    def _inside(self, value: Any) -> Any:
        changed = {
            name: cut
            for name in _TOLD_FIELDS[type(value)]
            if type(before := getattr(value, name)) not in _FIGURES and (cut := self._cut(before)) is not before
        }
        return replace(value, **changed) if changed else value

    def text(self, value: str) -> str:
        return self.forbidden.blanked(value)

    def several(self, value: tuple[Any, ...]) -> tuple[Any, ...]:
        if _FIGURES.issuperset(map(type, value)):  # as the points of a drawn line
            return value
        cut = tuple(self._cut(one) for one in value)
        return value if all(map(is_, cut, value)) else cut

    def named(self, value: dict[Any, Any]) -> dict[Any, Any]:
        return {key: self._cut(inner) for key, inner in value.items()}

    def sheet(self, value: SheetRef) -> SheetRef:
        if value.engine == self.engine:
            return value
        return SheetRef(value.kind, ANOTHER, "", ANOTHER, MonthOnly.of(value.day), "")

    def source(self, value: Source) -> Source:
        steps = value.path.split("/")
        return Source(ANOTHER, 0, 0) if steps[0] == "engines" and steps[1] != self.engine else value

    def problem(self, value: Problem) -> Problem:
        return replace(value, source=self.source(value.source), message=self.text(value.message))

    def photo(self, value: PhotoStory) -> PhotoStory:
        """Its path is the way to its bytes, and is not shown."""
        return replace(value, taken=None)

    def stay(self, value: Stay) -> Stay:
        if value.engine == self.engine:
            return value
        return replace(
            value, engine=ANOTHER, slot="", slot_name="", fitted=self.of(value.fitted), removed=self.of(value.removed),
            began=_month(value.began), ended=_month(value.ended),
        )  # fmt: skip

    def reading(self, value: ReadingStory) -> ReadingStory:
        if value.sheet.engine != self.engine:
            value = replace(value, day=MonthOnly.of(value.day), slot="", correction=None)
        return cast(ReadingStory, self._inside(value))

    def part(self, value: PartStory) -> PartStory:
        if value.decided_on is not None and value.decided_on.engine != self.engine:
            value = replace(value, decision=None, because=None, decision_why=None, decided_on=None, differs=None)
        if value.engine not in (None, self.engine):
            value = replace(value, engine=ANOTHER, slot="", slot_name="")
        found = tuple((sheet, line) for sheet, line in value.found if sheet.engine == self.engine)
        return cast(PartStory, self._inside(replace(value, found=found)))

    def found(self, value: FoundStory) -> FoundStory:
        return cast(FoundStory, self._inside(replace(value, crew_note=None)))

    def jump(self, value: Jump) -> Jump:
        own = value.sheet.startswith(f"engines/{self.engine}/")
        return value if own else replace(value, sheet=ANOTHER, since=MonthOnly.of(value.since))


_BY_TYPE: Final[dict[type, Callable[[_Cut, Any], Any]]] = {
    str: _Cut.text,
    tuple: _Cut.several,
    dict: _Cut.named,
    SheetRef: _Cut.sheet,
    Source: _Cut.source,
    Problem: _Cut.problem,
    PhotoStory: _Cut.photo,
    Stay: _Cut.stay,
    ReadingStory: _Cut.reading,
    PartStory: _Cut.part,
    FoundStory: _Cut.found,
    Jump: _Cut.jump,
}
_FIGURES: Final = frozenset((float, int, bool, type(None)))
_TOLD: Final = "engine_pages.history."


class _ToldFields(dict[type, tuple[str, ...]]):
    """By type the fields of what is part of a story; none of any other. Asked for every value, so each once.

    A TypeError for what would be part of a story and tells no fields: nothing of it could be cut.
    """

    def __missing__(self, kind: type) -> tuple[str, ...]:
        names: tuple[str, ...] = ()
        if kind.__module__.startswith(_TOLD) and kind is not MonthOnly:
            if not issubclass(kind, Struct):
                raise TypeError(f"{kind} is told in a story, and is no struct")
            names = kind.__struct_fields__
        self[kind] = names
        return names


_TOLD_FIELDS: Final = _ToldFields()


def _month(day: date | None) -> date | None:
    return None if day is None else MonthOnly.of(day)
