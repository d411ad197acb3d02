"""Plain files go into a folder that is free for them, whole or not at all."""

import subprocess
import sys
from pathlib import Path

import pytest
from editions.canaries import write_shop

from engine_pages.placing.place import PlaceError
from engine_pages.placing.plain_folder import write_folder

FILES = {"index.html": lambda: b"new", "parts/a.html": lambda: b"a"}


@pytest.fixture
def records(tmp_path: Path) -> Path:
    folder = tmp_path / "shop" / "records"
    folder.mkdir(parents=True)
    (folder / "shop.yml").write_text("name: X")
    return folder


@pytest.mark.parametrize("place", ["records", "records/site", "records/engines/K-07", ".", ".."])
def test_it_never_goes_among_the_records_or_above_them(records: Path, place: str) -> None:
    with pytest.raises(PlaceError, match="among the records"):
        write_folder(FILES, records.parent / place, records)
    assert [path.name for path in records.iterdir()] == ["shop.yml"]


def test_a_folder_with_something_else_in_it_is_left_alone(records: Path, tmp_path: Path) -> None:
    (tmp_path / "mine/deep").mkdir(parents=True)
    (tmp_path / "mine/deep/letter.txt").write_text("mine")
    with pytest.raises(PlaceError, match="not empty and no site of ours"):
        write_folder(FILES, tmp_path / "mine", records)
    assert [path.name for path in (tmp_path / "mine").rglob("*")] == ["deep", "letter.txt"]


def test_a_file_of_ones_own_put_into_an_earlier_export_is_not_lost(records: Path, tmp_path: Path) -> None:
    write_folder(FILES, tmp_path / "plain", records)
    (tmp_path / "plain/CNAME").write_text("mine")
    with pytest.raises(PlaceError, match="CNAME"):
        write_folder(FILES, tmp_path / "plain", records)
    assert (tmp_path / "plain/CNAME").read_text() == "mine"


def test_an_earlier_export_gives_way_whole(records: Path, tmp_path: Path) -> None:
    write_folder({**FILES, "old.html": lambda: b"old"}, tmp_path / "plain", records)
    write_folder(FILES, tmp_path / "plain", records)
    names = {path.relative_to(tmp_path / "plain").as_posix() for path in (tmp_path / "plain").rglob("*.html")}
    assert names == set(FILES)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plain", "shop"]


def test_what_cannot_be_made_leaves_the_earlier_one_as_it_was(records: Path, tmp_path: Path) -> None:
    def broken() -> bytes:
        raise OSError("no more")

    write_folder({"index.html": lambda: b"before"}, tmp_path / "plain", records)
    with pytest.raises(OSError, match="no more"):
        write_folder({"a.html": broken}, tmp_path / "plain", records)
    assert (tmp_path / "plain/index.html").read_bytes() == b"before"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plain", "shop"]


def test_a_file_stands_in_the_way(records: Path, tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("mine")
    with pytest.raises(PlaceError, match="is a file"):
        write_folder(FILES, tmp_path / "plain", records)


WITHOUT_GENERATOR = """\
import sys
sys.modules.update(dict.fromkeys(("mkdocs", "material", "properdocs")))  # none of them can be imported
from engine_pages.cli import main
main(["export", "--records", sys.argv[1], "--to", sys.argv[2]])
"""


def test_the_site_is_written_where_no_generator_is(tmp_path: Path) -> None:
    shop = write_shop(tmp_path / "shop")
    command = [sys.executable, "-c", WITHOUT_GENERATOR, str(shop), str(tmp_path / "plain")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2])
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "plain/index.html").is_file()
