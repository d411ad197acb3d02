"""A told engine cut to one reader: what another engine's sheets say of its parts loses names, days and words.

In: a story that was told from cut records, the shared engine, what is forbidden. Out: the story with nothing of another
engine in it but exposures, readings and months.
"""

from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from functools import singledispatchmethod
from typing import Any, Final, TypeVar, cast

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


@dataclass(frozen=True)
class _Cut:
    """Walks a story and cuts every value in it."""

    engine: str
    forbidden: Forbidden

    def of(self, value: T) -> T:
        """The value, cut. Figures and what is no part of a story stay as they are."""
        return cast(T, self._cut(value))

    @singledispatchmethod
    def _cut(self, value: Any) -> Any:
        if is_dataclass(value) and not isinstance(value, type) and type(value).__module__.startswith(_TOLD):
            return self._inside(value)
        return value

    def _inside(self, value: Any) -> Any:
        changed = {
            field.name: cut
            for field in fields(value)
            if (cut := self._cut(before := getattr(value, field.name))) is not before
        }
        return replace(value, **changed) if changed else value

    @_cut.register
    def _(self, value: str) -> str:
        return self.forbidden.blanked(value)

    @_cut.register(tuple)
    def _(self, value: tuple[Any, ...]) -> tuple[Any, ...]:
        cut = [self._cut(one) for one in value]
        if all(after is before for after, before in zip(cut, value, strict=True)):
            return value
        return tuple(cut)

    @_cut.register
    def _(self, value: dict) -> dict[Any, Any]:  # type: ignore[type-arg]  # singledispatch asks for the bare class
        return {key: self._cut(inner) for key, inner in value.items()}

    @_cut.register
    def _(self, value: SheetRef) -> SheetRef:
        if value.engine == self.engine:
            return value
        return SheetRef(value.kind, ANOTHER, "", ANOTHER, MonthOnly.of(value.day), "")

    @_cut.register
    def _(self, value: Source) -> Source:
        steps = value.path.split("/")
        return Source(ANOTHER, 0, 0) if steps[0] == "engines" and steps[1] != self.engine else value

    @_cut.register
    def _(self, value: Problem) -> Problem:
        return replace(value, source=self.of(value.source), message=self.of(value.message))

    @_cut.register
    def _(self, value: PhotoStory) -> PhotoStory:
        return replace(value, taken=None)

    @_cut.register
    def _(self, value: Stay) -> Stay:
        if value.engine == self.engine:
            return value
        return replace(
            value, engine=ANOTHER, slot="", slot_name="", fitted=self.of(value.fitted), removed=self.of(value.removed),
            began=_month(value.began), ended=_month(value.ended),
        )  # fmt: skip

    @_cut.register
    def _(self, value: ReadingStory) -> ReadingStory:
        if value.sheet.engine == self.engine:
            return self._inside(value)  # type: ignore[no-any-return]
        elsewhere = replace(value, day=MonthOnly.of(value.day), slot="", correction=None)
        return self._inside(elsewhere)  # type: ignore[no-any-return]

    @_cut.register
    def _(self, value: PartStory) -> PartStory:
        own = value.decided_on is None or value.decided_on.engine == self.engine
        if not own:
            value = replace(value, decision=None, because=None, decision_why=None, decided_on=None, differs=None)
        here = value.engine in (None, self.engine)
        found = tuple((sheet, line) for sheet, line in value.found if sheet.engine == self.engine)
        value = replace(value, found=found, engine=value.engine if here else ANOTHER)
        return self._inside(value if here else replace(value, slot="", slot_name=""))  # type: ignore[no-any-return]

    @_cut.register
    def _(self, value: FoundStory) -> FoundStory:
        return self._inside(replace(value, crew_note=None))  # type: ignore[no-any-return]

    @_cut.register
    def _(self, value: Jump) -> Jump:
        own = value.sheet.startswith(f"engines/{self.engine}/")
        return value if own else replace(value, sheet=ANOTHER, since=MonthOnly.of(value.since))


_TOLD: Final = "engine_pages.history."


def _month(day: date | None) -> date | None:
    return None if day is None else MonthOnly.of(day)
