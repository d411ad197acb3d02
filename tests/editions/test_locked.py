"""A locked file gives nothing away without its key, and all of its edition with it."""

import base64
import hashlib
import io
import json
import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest
from bench.handed import git
from click.testing import CliRunner
from cryptography.exceptions import InvalidTag
from PIL import Image

from engine_pages.cli import main
from engine_pages.commands.asking import read_shop
from engine_pages.editions.locked import ROUNDS, encrypted, key_of_words, lock, stretched
from engine_pages.editions.words import BYTES, word_list, words_of
from engine_pages.pages.cache import Cache
from engine_pages.pages.dossier import DOSSIER
from engine_pages.pages.every_page import Files
from engine_pages.pages.locked_page import locked_file
from engine_pages.pages.one_edition import site_for

from .canaries import CREW, OUTSIDE, OWN, SHEET, word, write_shop
from .gcm_cases import GCM
from .locked_shop import NAME, Handed, inside, opened, part
from .locked_shop import lock as lock_by_command


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_shop(tmp_path_factory.mktemp("shop") / "shop")


@pytest.fixture(scope="module")
def handed(shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Handed:
    return lock_by_command(shop, tmp_path_factory.mktemp("out") / "history.html")


@pytest.fixture(scope="module")
def files(shop: Path) -> Files:
    """The files of the owner's site."""
    return site_for(read_shop(shop, "HEAD"), NAME, "owner", Cache()).files


def counting() -> Callable[[int], bytes]:
    """A source of bytes that are always the same: each call's are a checksum of its number."""
    calls = 0

    def draw(count: int) -> bytes:
        nonlocal calls
        calls += 1
        return hashlib.sha256(str(calls).encode()).digest()[:count]

    return draw


SVG = 'xmlns="http://www.w3.org/2000/svg"'  # a name, and no address that is fetched


@pytest.mark.parametrize(("key", "iv", "plain", "about", "sealed"), GCM, ids=["13", "14", "16"])
def test_encryption_against_the_test_cases_of_gcm(key: str, iv: str, plain: str, about: str, sealed: str) -> None:
    given = [bytes.fromhex(one) for one in (key, iv, plain, about)]
    assert encrypted(given[0], given[1], given[2], given[3]).hex() == sealed


# RFC 7914, section 11: the first 32 of the 64 bytes that it gives, which are the first block (RFC 8018, 5.2)
@pytest.mark.parametrize(
    ("secret", "salt", "rounds", "key"),
    [
        (b"passwd", b"salt", 1, "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"),
        (b"Password", b"NaCl", 80_000, "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56"),
    ],
)
def test_words_are_stretched_against_rfc_7914(secret: bytes, salt: bytes, rounds: int, key: str) -> None:
    assert stretched(secret, salt, rounds).hex() == key


def test_words_are_stretched_by_as_many_rounds_as_the_owasp_password_storage_cheat_sheet_asks() -> None:
    assert ROUNDS >= 600_000


def test_words_open_however_they_are_typed() -> None:
    assert key_of_words(" Amaze\nbadge,  CABIN", b"salt", 1) == key_of_words("amaze badge cabin", b"salt", 1)


def test_the_list_has_2048_plain_words() -> None:
    words = word_list()
    assert len(words) == len(set(words)) == 2048
    assert list(words) == sorted(words)
    assert all(one.isascii() and one.isalpha() and one.islower() and 3 <= len(one) <= 7 for one in words)


def test_no_word_is_taken_for_another_by_its_beginning() -> None:
    words = word_list()
    assert len({one[:4] for one in words}) == len(words)
    assert not [one for one, other in pairwise(words) if other.startswith(one)]


def test_eight_words_hold_all_88_bits() -> None:
    random = bytes(range(100, 100 + BYTES))
    number = 0
    for one in words_of(random).split():
        number = number * 2048 + word_list().index(one)
    assert number.to_bytes(BYTES, "big") == random


def test_the_same_bytes_drawn_make_the_same_file(files: Files) -> None:
    one, other = (locked_file(files, random=counting()) for _ in range(2))
    assert one == other
    assert one.content != locked_file(files).content


def test_every_file_has_a_key_of_its_own_and_every_part_a_vector() -> None:
    one, other = lock([b"page", b"photo"] * 50), lock([b"page", b"photo"] * 50)
    assert not {one.key, one.words, one.id, one.salt} & {other.key, other.words, other.id, other.salt}
    boxes = [*one.parts, one.wrapped, *other.parts, other.wrapped]
    assert len({box.iv for box in boxes}) == len(boxes) == 202
    assert {len(box.iv) for box in boxes} == {12}
    assert len({box.sealed for box in boxes}) == len(boxes)


def test_no_part_opens_in_the_place_of_another_or_in_another_file(handed: Handed) -> None:
    whole, key = inside(handed.text), base64.urlsafe_b64decode(f"{handed.key}=")
    for place in ("1", "key", ""):
        with pytest.raises(InvalidTag):
            part(whole["parts"][0], key, f"{whole['id']}|{place}")
    with pytest.raises(InvalidTag):
        part(whole["parts"][0], key, f"{'A' * 22}|0")


def test_the_words_open_the_key_and_the_key_is_not_in_the_file(handed: Handed) -> None:
    whole = inside(handed.text)
    wrapping = key_of_words(handed.words, base64.b64decode(whole["salt"]), whole["rounds"])
    key = part(whole["wrapped"], wrapping, f"{whole['id']}|key")
    assert base64.urlsafe_b64encode(key).decode().rstrip("=") == handed.key
    for form in (handed.key, base64.b64encode(key).decode(), key.hex()):
        assert form.rstrip("=") not in handed.text
    assert handed.words not in handed.text


@pytest.mark.parametrize("field", [*sorted(OUTSIDE), *CREW])
def test_without_its_key_a_file_holds_no_word_of_the_shop(handed: Handed, field: str) -> None:
    assert word(field).casefold() not in handed.text.casefold()


def test_with_its_key_it_holds_what_the_dossier_of_its_edition_holds(files: Files, handed: Handed) -> None:
    dossier = files[DOSSIER]().decode()
    page = opened(handed.text, handed.key)[0].decode()
    given = {field for field in OUTSIDE if word(field) in dossier}
    assert {field for field in OUTSIDE if word(field) in page} == given
    assert {"EngineFile.engine", "Sheet.note", "PositionLine.finding", "PlanEvent.name", "Photo.caption"} <= given


@pytest.mark.parametrize("field", CREW)
def test_with_its_key_it_holds_nothing_that_stays_with_the_crew(handed: Handed, field: str) -> None:
    everything = b"".join(opened(handed.text, handed.key)).decode("latin-1")
    assert word(field).casefold() not in everything.casefold()


def test_the_page_names_no_file_and_leads_nowhere(handed: Handed) -> None:
    body = json.loads(opened(handed.text, handed.key)[0])["body"].replace(SVG, "")
    for out in (".jpg", ".json", ".html", "://", "<script", "<style", " src=", ' style="', "javascript:"):
        assert out not in body
    assert set(re.findall(r'\shref="(.)', body)) == {"#"}


def test_photos_are_inside_as_large_as_they_are_published_or_small(shop: Path, handed: Handed, tmp_path: Path) -> None:
    small = lock_by_command(shop, tmp_path / "small.html", "--small-photos")
    for one, width in ((handed, 640), (small, 480)):  # the shop's own photos are 640 px wide
        _, *photos = opened(one.text, one.key)
        assert len(photos) == 2
        assert {Image.open(io.BytesIO(photo)).size[0] for photo in photos} == {width}


def test_what_is_not_committed_is_not_in_it_and_is_said(shop: Path, tmp_path: Path) -> None:
    new = shop / OWN / "builds/2026-06-01.yml"
    new.write_text(f"engine: {NAME}\ndate: 2026-06-01\nnote: {word('uncommitted')}\nrest: as before\n")
    try:
        handed = lock_by_command(shop, tmp_path / "history.html")
    finally:
        new.unlink()
    assert word("uncommitted") not in opened(handed.text, handed.key)[0].decode()
    path = new.relative_to(shop).as_posix()
    assert f"1 file changed since the last commit, and not in it: {path}\n" in handed.said


def test_an_earlier_commit_is_locked_as_it_was_without_what_is_crew_only_since(shop: Path, tmp_path: Path) -> None:
    handed = lock_by_command(shop, tmp_path / "history.html", "--at", "HEAD~1")
    page = opened(handed.text, handed.key)[0].decode()
    assert word("sheet taken out") in page
    assert word("was a note") not in page  # the note holds what a crew note says today


def test_the_command_says_what_a_locked_file_cannot_do(handed: Handed) -> None:
    assert "Send the key by another way than the file." in handed.said
    assert "it cannot be withdrawn" in handed.said
    assert "its size" in handed.said


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ([NAME, "--edition", "crew"], "'crew' is not one of 'owner', 'buyer'"),
        (["E-99", "--edition", "owner"], "there is no engine E-99"),
        ([NAME, "--edition", "owner", "--at", "nothing"], "nothing"),
    ],
)
def test_what_cannot_be_locked_is_named_and_nothing_is_written(
    shop: Path, tmp_path: Path, asked: list[str], said: str
) -> None:
    out = tmp_path / "history.html"
    done = CliRunner().invoke(main, ["lock", *asked, "--records", str(shop), "--to", str(out)])
    assert done.exit_code != 0
    assert said in done.output
    assert list(tmp_path.iterdir()) == []


def test_errors_in_the_records_lock_nothing(tmp_path: Path) -> None:
    broken = write_shop(tmp_path / "shop")
    (broken / SHEET).write_text("engine: [")
    git(broken, "commit", "-qam", "broken")
    done = CliRunner().invoke(
        main, ["lock", NAME, "--edition", "owner", "--records", str(broken), "--to", str(tmp_path / "history.html")]
    )
    assert done.exit_code == 1
    assert "nothing was locked" in done.output
    assert not (tmp_path / "history.html").exists()
