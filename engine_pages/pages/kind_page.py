"""The crew's page of a kind of part: is this normal? How long such parts last, how fast they wear, how they stand.

In: a kind told over the whole shop. Out: `KindPage`, the data of its template.
"""

from collections import Counter

from msgspec import Struct

from engine_pages.history.status import NO_LIMIT, part_said
from engine_pages.history.story import STATES
from engine_pages.history.told_kinds import KindStory, LivesStory
from engine_pages.pages.addresses import METHODS, kind_path
from engine_pages.pages.desk import Desk, Here
from engine_pages.pages.heads import commit_cell, foot, print_margin
from engine_pages.pages.kind_rates import parts_table, rates_sections
from engine_pages.pages.kind_tables import KindSection, lives_section, renewals_section, short
from engine_pages.pages.pieces import Cell, Heading, Line, Lines, Link, PageHead, Table
from engine_pages.pages.wear_words import interval_words
from engine_pages.pages.words import capital, count_words, day_words, list_words, small

SELECTED = "parts are often measured because they look bad, so the others may wear less"


class KindPage(Struct, frozen=True):
    """One kind of part. Sections stand in the order of the fields; one with nothing to show is None.

    `lives` is how long they last, `renewals` how many a place uses up, `rates` how fast each dimension wears, `parts`
    every part with its state, `also` where the methods stand.
    """

    head: PageHead
    lives: KindSection | None
    renewals: KindSection | None
    rates: tuple[KindSection, ...]
    parts: Table
    also: Lines


def kind_page(desk: Desk, kind: KindStory) -> KindPage:
    """The page of one kind."""
    here = Here(desk, kind_path(kind.family, kind.kind))
    return KindPage(
        head=_head(here, kind),
        lives=lives_section(here, kind),
        renewals=renewals_section(here, kind),
        rates=rates_sections(here, kind),
        parts=parts_table(here, kind),
        also=_also(here, kind),
    )


def kind_title(kind: KindStory) -> str:
    """What the page is called: `Apex seal, all of Twin-rotor`."""
    return f"{kind.name}, all of {kind.family_name}"


def _head(here: Here, kind: KindStory) -> PageHead:
    story = here.desk.story
    claim, rest = _answer(kind)
    return PageHead(
        id=kind.name,
        under=(kind.family_name, "all that the shop has had"),
        cells=_cells(here, kind),
        claim=claim,
        rest=rest,
        more=_measured(kind),
        says=(),
        foot=foot(story.as_of, story.commit, f"families/{kind.family}.yml", kind.confidence, maker=True),
        print_margin=print_margin(f"{kind.family}-{kind.kind}", story.as_of, story.commit),
    )


def _cells(here: Here, kind: KindStory) -> tuple[Cell, ...]:
    stories = [here.desk.by_id[part] for part in kind.parts if part in here.desk.by_id]
    inside = [one for one in stories if one.fitted_now]
    states = Counter(part_said(one) for one in inside)
    standing = [f"{states[state]} {state}" for state in (*STATES, NO_LIMIT) if states[state]]
    failed = f"{kind.lives.failures} of {len(kind.lives.lives)}" if kind.lives is not None else "not told"
    return (
        Cell("parts", str(len(kind.parts))),
        Cell("measured", f"{kind.measured} of {len(kind.parts)}"),
        Cell("as of", day_words(here.desk.story.as_of)),
        Cell("failed", failed, "worn or damaged" if kind.lives is not None else "an assembly"),
        Cell("in engines now", str(len(inside)), ", ".join(standing)),
        commit_cell(here.desk.story.commit, any(one.uncommitted for one in here.desk.engines), here.desk.edition),
    )


def _answer(kind: KindStory) -> tuple[str, str]:
    """How long they last, where that can be told; else how many failed so far."""
    if kind.lives is None:
        return f"{capital(count_words(len(kind.parts), 'assembly', 'assemblies'))} so far.", (
            "It is new at every build: only its rates are told."
        )
    if kind.lives.reached is not None:
        reached = interval_words(kind.lives.reached, short(kind.unit))
        return f"9 of 10 reach {reached}.", _how_sure(kind.lives)
    failed = count_words(kind.lives.failures, "failure")
    return f"How long they last: cannot tell, {failed} so far.", _fastest(kind)


def _how_sure(lives: LivesStory) -> str:
    """On how little that rests."""
    failed, sheets = count_words(lives.failures, "failure"), count_words(lives.events, "sheet")
    return f"It rests on {failed}, found on {sheets}: the interval is too narrow."


def _fastest(kind: KindStory) -> str:
    """What is known instead: which dimensions show wear in the parts that were read."""
    worn = [small(one.name) for one in kind.rates if one.wear_shows]
    return f"Wear shows in {list_words(list(dict.fromkeys(worn)))}." if worn else "No wear is measurable yet."


def _measured(kind: KindStory) -> str:
    """How many were ever measured, and what that means."""
    words = f"{kind.measured} of {len(kind.parts)} measured"
    never = f" Never measured: {list_words([small(name) for name in kind.not_measured])}." if kind.not_measured else ""
    return f"{words}{'' if kind.measured == len(kind.parts) else f': {SELECTED}'}.{never}"


def _also(here: Here, kind: KindStory) -> Lines:
    others = [one for one in here.desk.kinds() if one.family == kind.family and one.kind != kind.kind]
    lines = [Line(link=Link("How these figures are made, and where they are not to be trusted", here.to(METHODS)))]
    lines += [Line(link=Link(one.name, here.to(kind_path(one.family, one.kind)))) for one in others]
    return Lines(Heading("also", "Also"), tuple(lines))
