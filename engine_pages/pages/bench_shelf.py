"""The bench pages of a shop: checked records and their engines told in, each engine's files by their paths out."""

from collections.abc import Callable, Iterable
from functools import partial

from engine_pages.bench.blank_sheet import next_number
from engine_pages.history.story import EngineStory
from engine_pages.pages.bench_form import SHEET_KINDS, BenchOf, bench_form
from engine_pages.pages.bench_page import PAGE, bench_files
from engine_pages.records.checks.checked import Checked

FOLDER = "bench"


def bench_path(engine: str) -> str:
    """Where an engine's bench page lies in the crew's site."""
    return f"{FOLDER}/{engine}/{PAGE}"


def bench_pages(
    checked: Checked, engines: Iterable[EngineStory], take: str | None = None
) -> dict[str, Callable[[], bytes]]:
    """Every engine's files under `bench/<engine>/`. `take`: where a server on this machine takes their zips."""
    file = checked.shop.file
    shop = (file.it.name if file else None) or "Engine records"
    numbers = {
        kind: next_number(sheet.it.sheet for sheet in checked.sheets() if sheet.kind == kind and sheet.it.sheet)
        for kind in SHEET_KINDS
    }
    pages: dict[str, Callable[[], bytes]] = {}
    for engine in engines:
        family = checked.shop.family_of(engine.id)
        if family is not None:
            form = bench_form(BenchOf(engine, family, checked.resolved, shop, numbers, checked.today, take))
            pages |= {f"{FOLDER}/{engine.id}/{name}": partial(bytes, made) for name, made in bench_files(form).items()}
    return pages
