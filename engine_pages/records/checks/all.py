"""All checks of a shop's records, in one tuple, and the one way from a tree of files to checked records.

In: a tree, the day on which it is read, the repository where there is one. Out: `Checked`, with every problem found by
the reading, by the fitting and by the checks, sorted by place.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date

from msgspec.structs import replace

from ..fitting import Fitting, fit_shop
from ..git import Repo
from ..load import Shop, load_shop
from ..moments import DayOrder
from ..resolve import Resolved, resolve
from ..source import Problem
from ..tree import Tree
from . import curves, engines, family, free_text, gauges, limits, log, parts, photos, shares, sheets, tests
from .checked import NOTHING_BEYOND, Beyond, Checked

Check = Callable[[Checked], Iterator[Problem]]

CHECKS: tuple[Check, ...] = (
    *(family.check_positions, family.check_members, family.check_stations, family.check_differences),
    *(family.check_fits, family.check_grades, family.check_expansions),
    *(limits.check_units, limits.check_kinds_of_unit, limits.check_order, limits.check_sources),
    *(curves.check_curves, curves.check_spreads),
    *(gauges.check_instruments, gauges.check_figures, gauges.check_initials),
    *(engines.check_engine_files, engines.check_families, engines.check_plans),
    *(shares.check_shares, shares.check_tokens),
    *(engines.check_alike, engines.check_windows, parts.check_windows),
    *(parts.check_part_files, parts.check_kinds, parts.check_sizes, parts.check_spelling, parts.check_work),
    parts.check_put_back,
    *(
        sheets.check_dates,
        sheets.check_first_builds,
        sheets.check_days,
        sheets.check_numbers,
        sheets.check_opened,
        sheets.check_filled,
        sheets.check_temperatures,
    ),
    *(log.check_order, log.check_overlaps, log.check_runs, log.check_lengths, log.check_services, log.check_incidents),
    *(tests.check_tests, tests.check_units, tests.check_positions, tests.check_chambers, tests.check_values),
    *(photos.check_photos, photos.check_originals, photos.check_repeats, photos.check_commits),
    free_text.check_free_text,
)


def read_checked(tree: Tree, today: date, repo: Repo | None = None) -> Checked:
    """Load a shop, put every sheet in its place, work out what stood where, and check it all: once."""
    return check_shop(load_shop(tree), today, repo)


def check_shop(shop: Shop, today: date, repo: Repo | None = None, beyond: Beyond = NOTHING_BEYOND) -> Checked:
    """A loaded shop, resolved, fitted and checked; `beyond` stands for what was not loaded of it."""
    checked = placed(shop, today, repo, beyond)
    found: list[Problem] = [*shop.problems, *_resolving(checked), *_fitting(checked, checked.fitting)]
    for check in CHECKS:
        found.extend(check(checked))
    return replace(checked, problems=in_order(found))


def placed(shop: Shop, today: date, repo: Repo | None = None, beyond: Beyond = NOTHING_BEYOND) -> Checked:
    """A loaded shop, resolved and fitted; of what is wrong with it nothing is said."""
    resolved = {}
    for records in shop.engines.values():
        family_written = shop.family_of(records.id)
        if family_written is not None:
            resolved.update({sheet.path: resolve(sheet, family_written) for sheet in records.sheets})
    orders = {records.id: DayOrder(records) for records in shop.engines.values()}
    fitting = fit_shop(shop, resolved, orders)
    inbox = tuple(path for path in shop.tree.paths() if path.startswith("inbox/"))
    return Checked(shop, resolved, fitting, orders, today, repo, inbox=inbox, beyond=beyond)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Each problem once, by path, line and column."""
    return tuple(sorted(set(problems)))


def _resolving(checked: Checked) -> Iterator[Problem]:
    """What the resolving of sheets found, where their family can be relied on."""
    for one in checked.resolved.values():
        if _is_reliable(checked, one):
            yield from one.problems


def _is_reliable(checked: Checked, one: Resolved) -> bool:
    return checked.whole_family_of(one.sheet.engine) is not None


def _fitting(checked: Checked, fitting: Fitting) -> Iterator[Problem]:
    """What the fitting found. An unread sheet may hold what is missed: then nothing is said of its engine."""
    torn = {path.split("/")[1] for path in checked.shop.unread if path.startswith("engines/")}
    for problem in fitting.problems:
        engine = problem.source.path.split("/")[1]
        if engine not in torn and checked.whole_family_of(engine) is not None:
            yield problem
