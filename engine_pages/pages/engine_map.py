"""The engine map as a table: kinds of part down, rotors or cylinders across from the front, a cell for each place.

In: the map of an engine's story. Out: `EngineMap`, whose cells say serial, share used and state, and lead to the part.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from engine_pages.history.status import fit_said, part_said
from engine_pages.history.story import (
    STATES,
    DimensionStory,
    DueStory,
    EngineStory,
    FitStory,
    MapCell,
    MapRow,
    PartStory,
    State,
)
from engine_pages.pages.bars import MAP, MEMBER, dimension_bar, due_bar
from engine_pages.pages.desk import Here, later_figure, later_words
from engine_pages.pages.dimension_words import CHANCE, measured, near_words, reading_words
from engine_pages.pages.marks import state_word
from engine_pages.pages.pieces import Heading
from engine_pages.pages.rotor_drawing import cylinder_glyph, rotor_glyph
from engine_pages.pages.shown_units import shown
from engine_pages.pages.wear_words import amount_words
from engine_pages.pages.words import capital, count_words, day_words, list_words, percent_words, small, unit_words

MANY = 4  # rows from which a phone has no room for serials


class MapHead(Struct, frozen=True):
    """A column of the map: its drawing, its name, where it lies."""

    glyph: Markup
    name: str
    where: str


class Place(Struct, frozen=True):
    """A cell: what is there, how far along it is, its bars (one a member of a set), its state, where it leads."""

    href: str | None
    name: str
    figure: str
    bars: tuple[Markup, ...]
    state: Markup


class MapLine(Struct, frozen=True):
    """A row: the kind, what its bars show, and its cells; `whole` spans all columns, `first_whole` begins those."""

    kind: str
    dimension: str
    cells: tuple[Place, ...]
    whole: bool
    first_whole: bool


class EngineMap(Struct, frozen=True):
    """The map under its heading. `many` columns drop their serials on a phone."""

    heading: Heading
    heads: tuple[MapHead, ...]
    columns: int
    many: bool
    lines: tuple[MapLine, ...]
    note: str


def engine_map(here: Here, engine: EngineStory) -> EngineMap | None:
    """The map of an engine; None where its family has no places."""
    if not engine.engine_map:
        return None
    columns = max(engine.rows, 1)
    lines: list[MapLine] = []
    for row in engine.engine_map:
        first = row.spans and not any(line.whole for line in lines)
        lines.append(_line(here, engine, row, first))
    right = f"build of {day_words(engine.built.day)}" if engine.built is not None else "no build sheet"
    heading = Heading("map", "What is in it" if engine.assembled else "What was in it", right)
    note = "Each bar is the part’s most used limit."
    note += _near_note(engine) + "".join(f" {capital(one)}." for one in _later_notes(here, engine))
    return EngineMap(heading, _heads(engine), columns, engine.rows >= MANY, tuple(lines), note)


def _near_note(engine: EngineStory) -> str:
    """Why parts and clearances are near their limit at a low share used: a cell has no room to say it."""
    near = [(one.slot_name, d) for one in engine.parts if one.state == "near limit" for d in one.dimensions]
    near += [(fit.title, replace(fit.dimension, name=fit.title)) for fit in engine.fits]
    said = [
        f"{small(name)}{'' if one.name == name else f', {small(one.name)}'}: {reason}"
        for name, one in near
        if CHANCE in (reason := near_words(one, engine.keep))
    ]
    return f" {capital('; '.join(said))}." if said else ""


def _later_notes(here: Here, engine: EngineStory) -> Iterator[str]:
    """Clearances of which one side was read again alone, and of which days their figures are."""
    for fit in engine.fits:
        if fit.later is not None:
            yield f"{small(fit.title)}, {later_figure(fit, engine.units[0])}: {later_words(here, fit)}"


def _heads(engine: EngineStory) -> tuple[MapHead, ...]:
    glyph, name = (rotor_glyph, "Rotor ") if engine.architecture == "rotary" else (cylinder_glyph, "")
    heads = []
    for row in range(1, engine.rows + 1):
        where = "front" if row == 1 else ("rear" if row == engine.rows else "")
        heads.append(MapHead(glyph(row, engine.rows), f"{name}{row}", where if engine.rows > 1 else ""))
    return tuple(heads)


def _line(here: Here, engine: EngineStory, row: MapRow, first_whole: bool) -> MapLine:
    cells = tuple(_place(here, engine, cell) for cell in row.cells)
    dimension = small(row.dimension_name) if row.dimension_name else ""
    return MapLine(row.kind_name, dimension, cells, row.spans, first_whole)


def _place(here: Here, engine: EngineStory, cell: MapCell) -> Place:
    if not cell.parts and cell.fits:
        return _fit(here, engine, cell.fits[0])
    if not cell.parts:
        return Place(None, "nothing written", "", (), Markup(""))
    worst = min(cell.parts, key=lambda part: (STATES.index(part.state), -_share(part)))
    figure = _figure(engine, worst)
    href, said = here.part(worst.id), state_word(worst.state, part_said(worst))
    if len(cell.parts) == 1:
        return Place(href, _name(here, worst), figure, (_bar(engine, worst, MAP),), said)
    bars = tuple(_bar(engine, part, MEMBER) for part in cell.parts)
    return Place(href, _set_name(here, cell.parts), figure, bars, said)


def _name(here: Here, part: PartStory) -> str:
    """The serial; a part without one is known by the day since which it is there."""
    began = part.stays[-1].began if part.stays else None
    return here.part_name(part.id) if part.named or began is None else f"since {day_words(began)}"


def _set_name(here: Here, parts: tuple[PartStory, ...]) -> str:
    """The members of a set: both ends of their serials where these follow each other, else all of them."""
    names = [here.part_name(part.id) for part in parts]
    if not all(part.named for part in parts):
        return count_words(len(parts), "part")
    return serial_words(names)


def serial_words(names: Sequence[str]) -> str:
    """Several serials: both ends where they follow each other, else all of them.

    >>> serial_words(["AS-41", "AS-42", "AS-43"]), serial_words(["CM-20", "CM-21"])
    ('AS-41 to AS-43', 'CM-20 and CM-21')
    """
    return f"{names[0]} to {names[-1]}" if len(names) > 2 and in_sequence(names) else list_words(names)


def in_sequence(names: Sequence[str]) -> bool:
    """Whether serials count up by one: AS-41, AS-42, AS-43.

    >>> in_sequence(["AS-41", "AS-42", "AS-43"]), in_sequence(["A1", "A5", "A3"])
    (True, False)
    """
    ends = [re.fullmatch(r"(.*?)(\d+)", name) for name in names]
    if not all(ends):
        return False
    pairs = [(end[1], int(end[2])) for end in ends if end]
    return all((stem, number + 1) == after for (stem, number), after in pairwise(pairs))


def _share(part: PartStory) -> float:
    shares = [dimension.allowance.used for dimension in part.dimensions if dimension.allowance is not None]
    return max([*shares, *(due.share or 0.0 for due in part.due)], default=0.0)


def _most_due(part: PartStory) -> DueStory | None:
    """The interval of the part that is furthest along, where it is further along than any dimension."""
    known = [due for due in part.due if due.share is not None]
    furthest = max(known, key=lambda due: due.share or 0.0, default=None)
    worst = part.worst
    if furthest is None or (worst is not None and worst.allowance is not None):
        return furthest if furthest is not None and furthest.state in ("due", "overdue") else None
    return furthest if worst is None or worst.state == "not measured" else None


def _bar(engine: EngineStory, part: PartStory, height: int) -> Markup:
    due = _most_due(part)
    if due is not None:
        return due_bar(due, height)
    if part.worst is None or part.worst.limit is None:
        return Markup("")
    return dimension_bar(shown(part.worst, engine.units[0]), _bar_state(part), height)


def _bar_state(part: PartStory) -> State:
    """The part's own state where its worst limit shares it: a bar is not struck by another dimension's verdict."""
    worst = part.worst
    return part.state if worst is None or part.state in ("retired", worst.state) else worst.state


def _figure(engine: EngineStory, part: PartStory) -> str:
    due, worst = _most_due(part), part.worst
    if due is not None:
        used = [amount_words(amount, unit) for unit, amount in due.since.items()]
        return used[0] if used else ""
    if worst is None:
        return ""
    if worst.allowance is not None and not _two_sided(worst):
        return percent_words(worst.allowance.used)
    seen = shown(worst, engine.units[0])
    last = measured(seen)
    return unit_words(reading_words(last), seen.unit) if last is not None and worst.state != "not measured" else ""


def _two_sided(dimension: DimensionStory) -> bool:
    """Between two limits a share says little without its side: there the reading itself is given."""
    return dimension.limit is not None and dimension.limit.min is not None and dimension.limit.max is not None


def _fit(here: Here, engine: EngineStory, fit: FitStory) -> Place:
    dimension = shown(fit.dimension, engine.units[0])
    last = measured(dimension)
    figure = unit_words(reading_words(last), dimension.unit) if last is not None else ""
    if dimension.allowance is not None and not _two_sided(dimension):
        figure = percent_words(dimension.allowance.used)
    figure = later_figure(fit, engine.units[0]) or figure
    href = here.part(fit.parts[0], anchor="now")
    outer, inner = (here.part_called(part) for part in fit.parts)
    name = f"{inner} in {outer}"
    return Place(href, name, figure, (dimension_bar(dimension, fit.state, MAP),), state_word(fit.state, fit_said(fit)))
