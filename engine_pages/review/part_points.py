"""Points of parts, clearances, limits and services: what is in the engine, and what is not known of it."""

from collections.abc import Iterable, Iterator, Sequence

from ..history.season_words import in_sets, sets_of
from ..history.story import DimensionStory, DueStory, EngineStory, PartStory
from ..history.told_review import Point
from ..history.unjudged import never_read, no_limit
from ..records.family import Family, Kind

WORN_OUT = ("beyond limit", "retired")


def part_points(story: EngineStory, family: Family) -> Iterator[Point]:
    """Every point of what stands in the engine now, members of a set together."""
    for part in story.parts:
        if part.state in WORN_OUT:
            yield Point("beyond-limit", part.slot, f"{part.slot_name}: {_worn_words(part)}", part.spoken_of)
    for fit in story.fits:
        if fit.state == "beyond limit":
            what = f"{fit.title}: clearance{_against_limit(fit.dimension)}, beyond its limit"
            yield Point("beyond-limit", fit.id, what, fit.dimension.limit_where)
    yield from _overdue(story.due)
    yield from _of_identity(story.parts, family)
    yield from _differing(story.parts)
    yield from _not_measured(story)
    yield from _unjudged(story)
    yield from _no_limit_source(story)
    yield from _not_photographed(story.parts)


def _worn_words(part: PartStory) -> str:
    """Each figure that is beyond its limit, with the limit; what the state says where no figure is."""
    beyond = [one for one in part.dimensions if one.state == "beyond limit"]
    words = [f"{one.name.lower()}{_against_limit(one)}" for one in beyond]
    return "; ".join(words) if part.state == "beyond limit" and words else part.state_why


def _against_limit(dimension: DimensionStory) -> str:
    """` 60.110 mm, limit max 60.100 mm`: the last reading and what it was held against; nothing where either lacks."""
    last, limit = dimension.last, dimension.limit
    if last is None or limit is None:
        return ""
    value = last.value_20c if last.value_20c is not None else last.value
    read = last.written if value is None else f"{value:.{last.decimals}f} {dimension.unit}"
    written = [(word, end) for word, end in (("min", limit.min), ("max", limit.max)) if end is not None]
    whole = [len(f"{end:.6f}".rstrip("0").partition(".")[2]) for _, end in written]  # no digit of a limit is cut off
    ends = [f"{word} {end:.{max(dimension.decimals, *whole)}f}" for word, end in written]
    return f" {read}, limit {', '.join(ends)} {dimension.unit}"


def _overdue(dues: Iterable[DueStory]) -> Iterator[Point]:
    for due in dues:
        if due.state == "overdue":
            name = f"{due.slot_name}: {due.what}" if due.slot_name else due.name
            over = ", ".join(f"{-left:.1f} {unit}" for unit, left in sorted(due.left.items()) if left < 0)
            where = due.id or f"{due.part or due.slot_name}.{due.what}"
            yield Point("overdue", where, f"{name}, overdue by {over}" if over else f"{name}, overdue", due.source)


def _of_identity(parts: Sequence[PartStory], family: Family) -> Iterator[Point]:
    """What is assembled as a whole is no part: it has no serial, and no life before."""
    kinds = {part.kind: family.kinds.get(part.kind) or Kind() for part in parts}
    single = [part for part in parts if not kinds[part.kind].whole]
    nameless = [part for part in single if kinds[part.kind].serial and not part.named]
    yield from _by_position(parts, nameless, "no-serial", "no serial is written")
    unknown = [part for part in single if part.prior == "unknown"]
    yield from _by_position(parts, unknown, "unknown-life", "life before is unknown; every figure is at least")
    as_new = [part for part in single if part.taken_as_new and part.named and part.source is None]
    yield from _by_position(parts, as_new, "unknown-life", "no origin is written; taken as new when fitted")


def _by_position(parts: Sequence[PartStory], chosen: Sequence[PartStory], kind: str, what: str) -> Iterator[Point]:
    """One point a position: of a set one, that names its members."""
    for position, here in _grouped(chosen).items():
        names = ", ".join(in_sets([part.slot_name for part in here], sets_of(parts)))
        yield Point(kind, position, f"{names}: {what}", here[0].spoken_of)


def _grouped(parts: Iterable[PartStory]) -> dict[str, list[PartStory]]:
    """Parts by their position; the members of a set share one."""
    out: dict[str, list[PartStory]] = {}
    for part in parts:
        out.setdefault(part.slot.partition("/")[0], []).append(part)
    return out


def _differing(parts: Sequence[PartStory]) -> Iterator[Point]:
    """Decided against the figures, without a word why: with one it is no open question."""
    for part in parts:
        if part.differs and part.decision_why is None:
            yield Point("against-verdict", part.slot, f"{part.slot_name}: {part.differs}", part.spoken_of)


def _not_measured(story: EngineStory) -> Iterator[Point]:
    alike: dict[tuple[str, str], list[tuple[PartStory, DimensionStory]]] = {}
    for part in story.parts:
        for dimension in part.not_measured:
            alike.setdefault((part.slot.partition("/")[0], dimension.id), []).append((part, dimension))
    for (position, dimension_id), here in alike.items():
        _, dimension = here[0]
        names = ", ".join(in_sets([part.slot_name for part, _ in here], sets_of(story.parts)))
        what = f"{names}: {dimension.name.lower()} not measured{dimension.since_words}"
        yield Point("not-measured", f"{position}.{dimension_id}", what, dimension.limit_where)
    for fit in story.fits:
        if fit.dimension.limit is not None and fit.dimension.state == "not measured":
            what = f"{fit.title}: clearance not measured since this pair stands together"
            yield Point("not-measured", fit.id, what, fit.dimension.limit_where)


def _unjudged(story: EngineStory) -> Iterator[Point]:
    """What has no limit: kind by kind what was never measured either, and all of it as one point."""
    for kind, what, place in never_read(story.parts, story.limits):
        yield Point("not-measured", kind, what, place)
    bare = no_limit(story.parts, story.limits)
    if bare is not None:
        yield Point("no-limit", "limits", *bare)


def _no_limit_source(story: EngineStory) -> Iterator[Point]:
    here = {part.kind_name for part in story.parts} | {"Fit", "Test"}
    for row in story.limits:
        if row.kind_name in here and row.limit and row.limit_source is None:
            where = f"{row.kind_name.lower().replace(' ', '-')}.{row.dimension.lower().replace(' ', '-')}"
            what = f"{row.kind_name}, {row.dimension.lower()}: the limit {row.limit} {row.unit} has no source"
            yield Point("no-limit-source", where, what, row.source)


def _not_photographed(parts: Sequence[PartStory]) -> Iterator[Point]:
    """Parts with a number of their own; rings and springs that go out with every build are not asked for."""
    bare = [part for part in parts if part.named and not any(found.photos for _, found in part.found)]
    by_kind: dict[str, list[PartStory]] = {}
    for part in bare:
        by_kind.setdefault(part.kind, []).append(part)
    for kind, here in by_kind.items():
        names = ", ".join(in_sets([part.slot_name for part in here], sets_of(parts)))
        yield Point("not-photographed", kind, f"{names}: no photo", here[0].spoken_of)
