"""One changed byte anywhere in a bundle is found: in its files, in its list, and in what the zip writes around them."""

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from engine_pages.cli import main
from engine_pages.editions.bundle import write_bundle
from engine_pages.editions.manifest import About
from engine_pages.editions.verify import NotABundleError, verify

ABOUT = About("E1", "buyer", "1234567", "0" * 40, "abbey", "engine-pages 0.1.0")
FILES: dict[str, Callable[[], bytes]] = {
    "READ-ME.txt": lambda: b"Open site/index.html.",
    "records/engines/E1/engine.yml": lambda: b"engine: E1\n",
    "records/engines/E1/r\u00f6tor.jpg": lambda: bytes(range(40)),
}
OTHER_FRAME = "changed: the zip's own list"


@pytest.fixture
def bundle(tmp_path: Path) -> Path:
    write_bundle(FILES, lambda _: ABOUT, tmp_path / "e1.zip")
    assert verify(tmp_path / "e1.zip").is_whole
    return tmp_path / "e1.zip"


def is_whole(path: Path) -> bool:
    try:
        return verify(path).is_whole
    except NotABundleError:
        return False


@pytest.mark.filterwarnings("ignore:Duplicate name")  # a name in the zip's list may become another's
@pytest.mark.parametrize("flip", [0x01, 0x80, 0xFF])
def test_one_changed_byte_anywhere_is_found(bundle: Path, flip: int) -> None:
    whole = bundle.read_bytes()
    missed = []
    for at in range(len(whole)):
        bundle.write_bytes(whole[:at] + bytes((whole[at] ^ flip,)) + whole[at + 1 :])
        missed += [at] if is_whole(bundle) else []
    assert missed == []


def with_comment(path: Path) -> None:
    with zipfile.ZipFile(path, "a") as archive:
        archive.comment = b"by the maker"


def with_a_folder(path: Path) -> None:
    with zipfile.ZipFile(path, "a") as archive:
        archive.mkdir("more")


def packed_again(path: Path) -> None:
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)


@pytest.mark.parametrize(
    "change",
    [
        lambda path: path.write_bytes(b"before" + path.read_bytes()),
        lambda path: path.write_bytes(path.read_bytes() + b"behind"),
        with_comment,
        with_a_folder,
        packed_again,
    ],
    ids=["before", "behind", "comment", "folder", "packed again"],
)
def test_what_lies_around_whole_files_is_named_where_it_is_another(
    bundle: Path, change: Callable[[Path], None]
) -> None:
    change(bundle)
    done = CliRunner().invoke(main, ["verify", str(bundle)])
    assert done.exit_code == 1
    assert f"{len(FILES)} files of {len(FILES)} whole" in done.output
    assert OTHER_FRAME in done.output


def test_a_bundle_with_another_time_in_one_header_names_the_zip_itself(bundle: Path) -> None:
    whole = bytearray(bundle.read_bytes())
    whole[12] ^= 1  # the day of the first file, in its own header (ZIP: APPNOTE 6.3.10, 4.3.7)
    bundle.write_bytes(whole)
    done = CliRunner().invoke(main, ["verify", str(bundle)])
    assert (done.exit_code, OTHER_FRAME in done.output) == (1, True)
