"""The bench pages of a shop: checked records and their engines told in, each engine's files by their paths out."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial

from engine_pages.bench.blank_sheet import next_number
from engine_pages.history.story import EngineStory
from engine_pages.pages.bench_form import SHEET_KINDS, BenchOf, bench_form
from engine_pages.pages.bench_page import PAGE, bench_files
from engine_pages.records.checks.checked import Checked
from engine_pages.records.sheet import SheetKind

FOLDER = "bench"
Numbers = Mapping[SheetKind, Sequence[str]]


def bench_path(engine: str) -> str:
    """Where an engine's bench page lies in the crew's site."""
    return f"{FOLDER}/{engine}/{PAGE}"


def bench_pages(
    checked: Checked, engines: Iterable[EngineStory], take: str | None = None, numbers: Numbers | None = None
) -> dict[str, Callable[[], bytes]]:
    """Every engine's files under `bench/<engine>/`. `take`: where a server on this machine takes their zips.

    `numbers`: those of every sheet of the shop by its kind, where `checked` is not the whole shop.
    """
    file = checked.shop.file
    shop = (file.it.name if file else None) or "Engine records"
    following = {kind: next_number((numbers or _numbers(checked)).get(kind, ())) for kind in SHEET_KINDS}
    pages: dict[str, Callable[[], bytes]] = {}
    for engine in engines:
        family = checked.shop.family_of(engine.id)
        if family is not None:
            form = bench_form(BenchOf(engine, family, checked.resolved, shop, following, checked.today, take))
            pages |= {f"{FOLDER}/{engine.id}/{name}": partial(bytes, made) for name, made in bench_files(form).items()}
    return pages


def _numbers(checked: Checked) -> Numbers:
    found: dict[SheetKind, list[str]] = {kind: [] for kind in SHEET_KINDS}
    for sheet in checked.sheets():
        if sheet.it.sheet:
            found[sheet.kind].append(sheet.it.sheet)
    return found
