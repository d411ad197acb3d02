"""The fingerprint of a state: the same records and photos have the same words, any other reading has others."""

import json
import re
import subprocess
import zipfile
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace
from review.shop_for_review import CLEAN, STRIP, Shop, clean_shop

from engine_pages.cli import main
from engine_pages.editions.bundle import write_bundle
from engine_pages.editions.manifest import read_manifest
from engine_pages.editions.words import word_list


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return clean_shop(tmp_path_factory.mktemp("clean") / "shop")


@pytest.fixture(scope="module")
def bundle(shop: Shop) -> Path:
    return bundled(shop, shop.folder.parent / "e1.zip")


def bundled(shop: Shop, to: Path) -> Path:
    words = ["bundle", "E1", "--records", str(shop.folder), "--edition", "buyer", "--to", str(to)]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    return to


def verified(path: Path, *more: str) -> Result:
    return CliRunner().invoke(main, ["verify", str(path), *more])


def about(path: Path) -> dict[str, str]:
    with zipfile.ZipFile(path) as archive:
        told: dict[str, str] = json.loads(archive.read("manifest.json"))
    return told


def repacked(path: Path, to: Path, changed: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(to, "w") as new:
        for name in old.namelist():
            new.writestr(name, changed.get(name, old.read(name)))
    return to


def forged(path: Path, to: Path, name: str, was: bytes, now: bytes, **more: str) -> Path:
    """A bundle in which a text of one file is another, and the list is written to fit; `more` of what it says it is."""
    files = read_files(path)
    manifest = read_manifest(files.pop("manifest.json"))
    assert was in files[name]
    files[name] = files[name].replace(was, now)
    write_bundle(
        {path: partial(bytes, one) for path, one in files.items()}, lambda _: replace(manifest.about, **more), to
    )
    return to


def read_files(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_bundle_says_its_commit_its_tree_and_eight_words(shop: Shop, bundle: Path) -> None:
    told = about(bundle)
    git = ["git", "-C", str(shop.folder), "rev-parse"]
    tree = subprocess.run([*git, "HEAD:engines/E1"], check=True, capture_output=True, text=True).stdout.strip()
    assert told["tree"] == tree
    words = told["fingerprint"].split()
    assert len(words) == 8
    assert set(words) <= set(word_list())
    assert len(words) * 11 >= 80  # bits: 2,048 words, 11 bits each


def test_the_words_are_those_of_sha_256_over_the_records_and_photos(bundle: Path) -> None:
    """By the reference tool: sha256sum of each file and of the list (coreutils), eleven bits a word by hand."""
    with zipfile.ZipFile(bundle) as archive:
        names = sorted(name for name in archive.namelist() if name.startswith("records/"))
        listed = "".join(f"{sha256sum(archive.read(name))} {len(archive.read(name))} {name}\n" for name in names)
    bits = f"{int(sha256sum(listed.encode()), 16):0256b}"
    assert about(bundle)["fingerprint"] == " ".join(word_list()[int(bits[n * 11 : n * 11 + 11], 2)] for n in range(8))


def sha256sum(content: bytes) -> str:
    return subprocess.run(["sha256sum"], input=content, check=True, capture_output=True).stdout.decode().split()[0]


def test_the_words_are_heard_right_however_they_are_typed(bundle: Path) -> None:
    told = about(bundle)["fingerprint"].replace(" ", ", ").title()
    done = verified(bundle, "--fingerprint", told)
    assert done.exit_code == 0
    assert "Its records and photos are those of the fingerprint." in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("abbey zoo", "has 8 words, these are 2"),
        ("abbey abbey abbey abbey abbey abbey abbey zooo", "did you mean zoo?"),
    ],
)
def test_words_that_no_fingerprint_has_were_heard_wrong(bundle: Path, words: str, said: str) -> None:
    done = verified(bundle, "--fingerprint", words)
    assert done.exit_code == 2
    assert said in re.sub(r"\s+", " ", done.output)


def test_another_reading_has_another_fingerprint_and_a_forged_list_does_not_help(
    shop: Shop, bundle: Path, tmp_path: Path
) -> None:
    path = f"records/{STRIP}"
    zip_ = forged(bundle, tmp_path / "forged.zip", path, b"60.023", b"60.013")
    assert verified(zip_).exit_code == 0  # its own list says that it is whole
    done = verified(zip_, "--fingerprint", about(bundle)["fingerprint"])
    assert done.exit_code == 1
    assert "others than those of the fingerprint" in done.output
    done = verified(zip_, "--records", str(shop.folder))
    assert done.exit_code == 1
    assert f"another in the repository: {path}" in done.output


def test_a_bundle_is_as_the_repository_makes_it_at_its_commit(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    zip_ = bundled(shop, tmp_path / "e1.zip")
    shop.write({STRIP: CLEAN[STRIP].replace("60.023", "60.013")}).commit("2026-05-20")
    done = verified(zip_, "--records", str(shop.folder))
    assert (done.exit_code, "It is as the repository makes it at commit" in done.output) == (0, True), done.output
    assert about(bundled(shop, tmp_path / "later.zip"))["fingerprint"] != about(zip_)["fingerprint"]


PAGE = "site/index.html"


def test_the_fingerprint_says_that_it_vouches_for_no_page(bundle: Path, tmp_path: Path) -> None:
    zip_ = forged(bundle, tmp_path / "forged.zip", PAGE, b"3.5", b"2.5")
    done = verified(zip_, "--fingerprint", about(bundle)["fingerprint"])
    assert done.exit_code == 0
    assert "Pages and figures are not in the fingerprint: --records compares them" in done.output


@pytest.mark.parametrize(("page", "now"), [(b"3.5", b"2.5"), (b"3.5", b"3.5")], ids=["forged", "as it was made"])
def test_pages_of_another_version_are_not_called_the_same(
    shop: Shop, bundle: Path, tmp_path: Path, page: bytes, now: bytes
) -> None:
    zip_ = forged(bundle, tmp_path / "old.zip", PAGE, page, now, made_with="engine-pages 0.0.9")
    done = verified(zip_, "--records", str(shop.folder))
    assert done.exit_code == 1
    assert "Its records and photos are as the repository makes them at commit" in done.output
    assert (
        "Pages and figures were not compared: the bundle says that it was made with engine-pages 0.0.9" in done.output
    )


def test_a_forged_page_is_named_by_the_repository(shop: Shop, bundle: Path, tmp_path: Path) -> None:
    done = verified(forged(bundle, tmp_path / "forged.zip", PAGE, b"3.5", b"2.5"), "--records", str(shop.folder))
    assert done.exit_code == 1
    assert f"another in the repository: {PAGE}" in done.output
    assert "It is not as the repository makes it at commit" in done.output


def test_one_changed_byte_in_any_file_is_found_and_named(bundle: Path, tmp_path: Path) -> None:
    for name, content in read_files(bundle).items():
        if name == "manifest.json" or not content:
            continue
        at = len(content) // 2
        torn = content[:at] + bytes((content[at] ^ 1,)) + content[at + 1 :]
        done = verified(repacked(bundle, tmp_path / "torn.zip", {name: torn}))
        assert done.exit_code == 1, name
        assert f"changed: {name}" in done.output.splitlines()


def test_the_dossier_bears_the_words_of_its_bundle(bundle: Path) -> None:
    told = about(bundle)
    with zipfile.ZipFile(bundle) as archive:
        dossier = archive.read("site/dossier.html").decode()
    said = f"Tree {told['tree']}. Fingerprint of records and photos: {told['fingerprint']}."
    assert dossier.index("Contents") < dossier.index(said) < dossier.index('class="chapter')  # at the foot of the cover


def test_the_note_in_a_bundle_names_the_check_that_there_is(bundle: Path) -> None:
    with zipfile.ZipFile(bundle) as archive:
        note = archive.read("READ-ME.txt").decode()
    assert "manifest's own" not in note
    assert 'engine-pages verify FILE.zip --fingerprint "the eight words"' in note
    done = verified(bundle, "--fingerprint", about(bundle)["fingerprint"])
    assert done.exit_code == 0
    assert "Its records and photos are those of the fingerprint." in done.output
    assert len(about(bundle)["fingerprint"].split()) == 8


def test_a_sheet_without_a_number_is_named_once_in_the_contents(bundle: Path) -> None:
    with zipfile.ZipFile(bundle) as archive:
        dossier = archive.read("site/dossier.html").decode().replace("\xa0", " ")
    contents = dossier.partition("Contents")[2].partition("</nav>")[0]
    assert ">Teardown 2 May 2026</a>" in contents
    assert "teardown, 2 May 2026" not in contents
    assert ">Build 9 May 2026</a>" in contents
