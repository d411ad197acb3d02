"""On a full disk a command leaves the folder as it was: nothing empty, nothing half."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from bench.handed import shop_in
from click.testing import CliRunner, Result

from engine_pages.cli import main


@contextmanager
def largest_file(size: int) -> Iterator[None]:
    """While it lasts, no file of this process grows beyond so many bytes: what is beyond fails as on a full disk."""
    resource = pytest.importorskip("resource")  # POSIX alone has it
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def run(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


def everything(folder: Path) -> dict[str, bytes]:
    """Every file of a folder but git's own."""
    files = (path for path in folder.rglob("*") if path.is_file() and ".git" not in path.parts)
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


@pytest.mark.parametrize("size", [0, 100])
@pytest.mark.parametrize("kind", ["teardown", "build"])
def test_a_blank_sheet_is_written_whole_or_not_at_all(tmp_path: Path, kind: str, size: int) -> None:
    shop = shop_in(tmp_path / "shop")
    before = everything(shop)
    ask = ["sheet", kind, "E1", "--date", "2026-03-01", "--records", str(shop)]
    with largest_file(size):
        done = run(*ask)
    assert (done.exit_code, everything(shop)) == (1, before), done.output
    assert run(*ask).exit_code == 0


@pytest.mark.parametrize("size", [0, 1000])
def test_a_bench_page_that_lies_there_stays_whole(tmp_path: Path, size: int) -> None:
    shop, out = shop_in(tmp_path / "shop"), tmp_path / "stick"
    assert run("bench", "--to", str(out), "--records", str(shop)).exit_code == 0
    before = everything(out)
    (shop / "shop.yml").write_text("name: Barn\n", encoding="utf-8")
    with largest_file(size):
        done = run("bench", "--to", str(out), "--records", str(shop))
    assert (done.exit_code, everything(out)) == (1, before)
    assert "could not be written" in done.output


@pytest.mark.parametrize("there", [True, False])
@pytest.mark.parametrize(("size", "more"), [(0, []), (1500, []), (20_000, ["--demo"])])
def test_a_new_shop_is_there_whole_or_not_at_all(tmp_path: Path, there: bool, size: int, more: list[str]) -> None:
    folder = tmp_path / "shop"
    if there:
        folder.mkdir()
    with largest_file(size):
        done = run("start", str(folder), *more)
    assert done.exit_code == 1
    assert folder.exists() == there
    assert list(tmp_path.rglob("*")) == ([folder] if there else [])
    assert run("start", str(folder), *more).exit_code == 0
