"""A sheet beside its family: which slot, which dimension and which station each written reading belongs to.

In goes a sheet as typed; out come lines by slot with every reading in its place, and an error for each name that
stands nowhere, each unit of the wrong kind, each thing that is said twice.
"""

from collections.abc import Iterator

from msgspec import Struct, field

from .family import Dimension, Family, Kind
from .load import SheetRecord
from .measurement import Measurement, Reading, Written, leaves
from .quantity import Bracket, NotUnderstood, OneSided, Quantity, in_unit
from .sheet import PositionLine
from .slots import Slot, Slots, row_of, slots_of, title_of, with_row
from .source import Problem, Source, error, nearest, with_article
from .units import canonical, dimension_of


class Taken(Struct, frozen=True):
    """One reading in its place: what was read, by which gauge, where it is written."""

    reading: Reading
    source: Source


class SlotLine(Struct):
    """All that a sheet says of one slot. Readings by dimension, then by station (None: no stations)."""

    slot: Slot
    keys: list[str] = field(default_factory=list)
    part: str | None = None
    part_source: Source | None = None
    origin: str | None = None
    size: object = None
    measured: dict[str, dict[str | None, Taken]] = field(default_factory=dict)
    observed: dict[str, tuple[int, Source]] = field(default_factory=dict)
    decision: str | None = None
    because: str | None = None
    why: str | None = None


class Resolved(Struct):
    """A sheet, slot by slot; `written` keeps the lines as typed, in the sheet's order."""

    sheet: SheetRecord
    lines: dict[str, SlotLine] = field(default_factory=dict)
    written: list[tuple[str, PositionLine]] = field(default_factory=list)
    fits: dict[str, dict[str | None, Taken]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def resolve(sheet: SheetRecord, family: Family) -> Resolved:
    """Put every line of a sheet in its place."""
    out = Resolved(sheet)
    slots = slots_of(family)
    said: dict[tuple[str, str], tuple[str, bool]] = {}
    for key, line in (sheet.it.positions or {}).items():
        targets = slots.named(key)
        if not targets:
            place = sheet.record.document.key_place("positions", key)
            out.problems.append(
                error(place, f"position {key!r} stands nowhere in the family; {nearest(key, slots.keys)}")
            )
            continue
        written = line if line is not None else PositionLine()
        if written.is_blank and sheet.kind != "build":  # a build names what is fitted, bare or not
            continue
        out.written.append((key, written))
        _Line(out, family, slots, key, targets, written, said).put()
    for name, tree in (sheet.it.fits or {}).items():
        _put_fit(out, family, name, tree)
    return out


class _Line(Struct):
    """One written line on its way to the slots that it means."""

    out: Resolved
    family: Family
    slots: Slots
    key: str
    targets: tuple[Slot, ...]
    line: PositionLine
    said: dict[tuple[str, str], tuple[str, bool]]

    @property
    def kind(self) -> Kind:
        return self.family.kinds.get(self.targets[0].kind) or Kind()

    def put(self) -> None:
        for slot in self.targets:
            self.out.lines.setdefault(slot.id, SlotLine(slot)).keys.append(self.key)
        self._put_parts()
        for name in ("origin", "size", "decision", "because", "why"):
            value = getattr(self.line, name)
            if value is not None:
                for slot in self.targets:
                    if self._new(slot, name, one_for_all=len(self.targets) > 1):
                        setattr(self.out.lines[slot.id], name, value)
        if self.targets[0].kind not in self.family.kinds:
            return  # the family is at fault, and is told so
        self._put_observed()
        for dimension, tree in (self.line.measured or {}).items():
            self._put_dimension(dimension, tree)

    def _place(self, *steps: str | int) -> Source:
        return self.out.sheet.record.place("positions", self.key, *steps)

    def _wrong(self, message: str, *steps: str | int) -> None:
        self.out.problems.append(error(self._place(*steps), message))

    def _unknown(self, message: str, *steps: str | int) -> None:
        """An error at a key: the name itself stands nowhere."""
        document = self.out.sheet.record.document
        self.out.problems.append(error(document.key_place("positions", self.key, *steps), message))

    def _new(self, slot: Slot, what: str, *, one_for_all: bool, steps: tuple[str | int, ...] = ()) -> bool:
        """Whether this may be said of a slot: once for a whole set, and once more for a member that differs."""
        before = self.said.get((slot.id, what))
        if before is not None and before[1] == one_for_all:
            where = " of the set" if one_for_all else ""
            said = f"{what.replace(':', ' ')} of {slot.id}{where} is said a second time"
            self._wrong(f"{said}; it stands at {before[0]} too", *(steps or (what,)))
            return False
        if before is None or before[1]:
            self.said[(slot.id, what)] = (self.key, one_for_all)
            return True
        return False  # the member's own word stands already

    def _member(self, name: str, *steps: str | int) -> Slot | None:
        for slot in self.targets:
            if slot.member == name:
                return slot
        known = [slot.member for slot in self.targets if slot.member]
        self._unknown(f"{name!r} is no member of {self.key}; {nearest(name, known)}", *steps)
        return None

    def _put_parts(self) -> None:
        part = self.line.part
        if part is None:
            return
        if isinstance(part, str) and len(self.targets) > 1:
            first = self.targets[0].member
            message = f"one serial for a set of {len(self.targets)}; write one a member: part: {{{first}: …}}"
            self._wrong(message, "part")
            return
        serials = {self.targets[0].member: part} if isinstance(part, str) else part
        for member, serial in serials.items():
            steps = ("part",) if isinstance(part, str) else ("part", str(member))
            slot = self.targets[0] if isinstance(part, str) else self._member(str(member), *steps)
            if slot is not None and self._new(slot, "part", one_for_all=False, steps=steps):
                self.out.lines[slot.id].part = serial
                self.out.lines[slot.id].part_source = self._place(*steps)

    def _put_observed(self) -> None:
        known = self.kind.observe or ()
        for name, value in (self.line.observed or {}).items():
            if name not in known:
                message = f"{name!r} is not observed on {with_article(self.targets[0].kind)}; {nearest(name, known)}"
                self._unknown(message, "observed", name)
                continue
            grades = value if isinstance(value, dict) else dict.fromkeys([slot.member for slot in self.targets], value)
            for member, grade in grades.items():
                steps = ("observed", name, member) if isinstance(value, dict) else ("observed", name)
                slot = self._member(str(member), *steps) if isinstance(value, dict) else self._of(member)
                one_for_all = not isinstance(value, dict) and len(self.targets) > 1
                if slot and self._new(slot, f"observed:{name}", one_for_all=one_for_all, steps=steps):
                    self.out.lines[slot.id].observed[name] = (grade, self._place(*steps))

    def _of(self, member: str | None) -> Slot:
        return next(slot for slot in self.targets if slot.member == member)

    def _put_dimension(self, name: str, tree: Measurement) -> None:
        dimension = (self.kind.dimensions or {}).get(name)
        if dimension is None:
            known = list(self.kind.dimensions or {})
            message = f"{with_article(self.targets[0].kind)} has no dimension {name!r}; {nearest(name, known)}"
            self._unknown(message, "measured", name)
            return
        for names, reading in leaves(tree):
            self._put_reading(name, dimension, names, reading)

    def _put_reading(self, name: str, dimension: Dimension, names: tuple[str, ...], reading: Reading) -> None:
        steps = ("measured", *reading.steps)
        members = {slot.member for slot in self.targets if slot.member}
        targets, rest, one_for_all = self.targets, names, len(self.targets) > 1
        if names and names[0] in members:
            targets, rest, one_for_all = (self._of(names[0]),), names[1:], False
        station: str | None = rest[0] if rest else None
        allowed = list(dimension.stations or ())
        if len(rest) > 1 or (station is not None and station not in allowed):
            wrong = rest[0] if rest[0] not in allowed else rest[1]
            message = f"{wrong!r} is no station of {name}; {nearest(wrong, [*allowed, *sorted(members)])}"
            self._unknown(message, *steps[: _behind(steps, wrong)])
            return
        if station is None and allowed:
            if len(allowed) > 1:
                self._wrong(f"{name} is read at stations; write one a line: {', '.join(allowed)}", *steps)
                return
            station = allowed[0]
        at = ("positions", self.key, "measured")
        self.out.problems.extend(unit_problems(reading, dimension.unit, self.out.sheet, at))
        for slot in targets:
            if self._new(slot, f"{name}:{station or ''}".rstrip(":"), one_for_all=one_for_all, steps=steps):
                self.out.lines[slot.id].measured.setdefault(name, {})[station] = Taken(reading, self._place(*steps))


def _behind(steps: tuple[str | int, ...], name: str) -> int:
    """How many steps lead to the key `name`, the last of them itself."""
    return len(steps) - steps[::-1].index(name)


def _put_fit(out: Resolved, family: Family, name: str, tree: Measurement) -> None:
    document = out.sheet.record.document
    fit = (family.fits or {}).get(name)
    if fit is None:
        message = f"fit {name!r} stands nowhere in the family; {nearest(name, family.fits or {})}"
        out.problems.append(error(document.key_place("fits", name), message))
        return
    unit = fit_unit(family, name) or "mm"
    known = fit_stations(family, name)
    for names, reading in leaves(tree):
        place = document.place("fits", *reading.steps)
        if len(names) > 1 or (names and names[0] not in known):
            wrong = names[0] if names[0] not in known else names[1]
            steps = ("fits", *reading.steps)
            message = f"{wrong!r} is no station of {name}; {nearest(wrong, known)}"
            out.problems.append(error(document.key_place(*steps[: _behind(steps, wrong)]), message))
            continue
        out.problems.extend(unit_problems(reading, unit, out.sheet, ("fits",)))
        out.fits.setdefault(name, {})[names[0] if names else None] = Taken(reading, place)


def fit_stations(family: Family, name: str) -> list[str]:
    """The stations at which a fit can be measured directly: those of its two dimensions."""
    fit = (family.fits or {})[name]
    found: dict[str, None] = {}
    for side in (fit.outer, fit.inner):
        dimension = _side_dimension(family, side)
        found.update(dict.fromkeys((dimension.stations or ()) if dimension else ()))
    return list(found)


def fit_side(family: Family, text: str) -> tuple[str, str, str | None] | None:
    """`rotor-1.width` or `cylinder-1.bore@mid-thrust` as (slot, dimension, station); None where it cannot be read.

    An id may hold points: the split is behind a slot of the family where there is one, else at the last point.
    """
    body, _, station = text.partition("@")
    splits = [(body[:at], body[at + 1 :]) for at, sign in enumerate(body) if sign == "." and 0 < at < len(body) - 1]
    if not splits:
        return None
    known = slots_of(family).by_id
    slot, dimension = next((split for split in splits if split[0] in known), splits[-1])
    return slot, dimension, station or None


def fit_unit(family: Family, name: str) -> str | None:
    """A fit's unit: its own, else that of its outer dimension."""
    fit = (family.fits or {})[name]
    dimension = _side_dimension(family, fit.outer)
    return fit.unit or (dimension.unit if dimension else None)


def fit_title(family: Family, name: str) -> str:
    """A fit's name with its row: its own, that of the place of its outer part, or the number at the end of its id."""
    fit = (family.fits or {})[name]
    side = fit_side(family, fit.outer)
    slot = slots_of(family).by_id.get(side[0]) if side else None
    row = fit.row if fit.row is not None else (slot.row if slot else None) or row_of(name)
    return with_row(fit.name or title_of(name), row)


def _side_dimension(family: Family, text: str) -> Dimension | None:
    side = fit_side(family, text)
    slot = slots_of(family).by_id.get(side[0]) if side else None
    kind = family.kinds.get(slot.kind) if slot else None
    return (kind.dimensions or {}).get(side[1]) if kind and side else None


def unit_problems(reading: Reading, unit: str, sheet: SheetRecord, at: tuple[str | int, ...]) -> Iterator[Problem]:
    """An error for each value of a reading that cannot be brought to the dimension's unit."""
    if canonical(unit) is None:
        return  # the family is at fault, and is told so
    for index, value in enumerate(reading.values):
        for quantity in quantities_of(value):
            try:
                in_unit(quantity, unit, unit)
            except NotUnderstood as bad:
                steps = (*reading.steps, index) if len(reading.values) > 1 else reading.steps
                yield error(sheet.record.place(*at, *steps), bad.message)


def quantities_of(value: Written) -> tuple[Quantity, ...]:
    """The numbers that a reading holds: one, a bracket's two ends, a bound, or none."""
    if isinstance(value, Quantity):
        return (value,)
    if isinstance(value, Bracket):
        return (value.low, value.high)
    return (value.bound,) if isinstance(value, OneSided) else ()


def sized_alone(kind: Kind) -> str | None:
    """The one dimension of a kind that an undersize without a name can be of: its only length, if it has only one."""
    lengths = [
        name
        for name, dimension in (kind.dimensions or {}).items()
        if canonical(dimension.unit) is not None and dimension_of(dimension.unit) == "length"
    ]
    return lengths[0] if len(lengths) == 1 else None
