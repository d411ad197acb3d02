"""A site that was kept is the same site again, page for page and byte for byte, and its photos are not kept twice."""

from datetime import date
from pathlib import Path

import pytest
from PIL import Image
from review.shop_for_review import clean_shop

from engine_pages.pages.cache import Cache
from engine_pages.pages.kept_site import site_from_bytes, site_to_bytes
from engine_pages.pages.one_edition import site_for
from engine_pages.pages.photo_shelf import PhotoFile, PhotoShelf
from engine_pages.pages.site import Site
from engine_pages.records.checks.all import read_checked
from engine_pages.records.git import repository_of
from engine_pages.records.tree import Commit

PHOTO = "engines/E1/builds/2026-03-07/bearing.jpg"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """One engine whose bearing has a photo that is no plain colour."""
    shop = clean_shop(tmp_path / "shop")
    Image.effect_noise((640, 480), 60).convert("RGB").save(shop.folder / PHOTO, "JPEG")
    return shop.commit("2026-05-20", "photo").folder


@pytest.fixture
def site(shop: Path, tmp_path: Path) -> Site:
    checked = read_checked(Commit(shop, "HEAD"), date(2026, 6, 1), repository_of(shop))
    return site_for(checked, "E1", "owner", Cache(tmp_path / "cache"))


def test_a_kept_site_is_the_same_site_again(site: Site, shop: Path, tmp_path: Path) -> None:
    again = site_from_bytes(site_to_bytes(site), PhotoShelf(Commit(shop, "HEAD").read, Cache(tmp_path / "cache")))
    assert (again.pages, again.nav, again.name) == (site.pages, site.nav, site.name)
    assert list(again.files) == list(site.files)
    assert {path: read() for path, read in again.files.items()} == {path: read() for path, read in site.files.items()}


def test_photos_are_kept_by_name_and_not_by_their_bytes(site: Site) -> None:
    photos = {path: file for path, file in site.files.items() if isinstance(file, PhotoFile)}
    assert [file.photo for file in photos.values()] == [PHOTO, PHOTO]
    without = Site(site.pages, {path: file for path, file in site.files.items() if path not in photos}, site.nav, ())
    assert 0 < len(site_to_bytes(site)) - len(site_to_bytes(without)) < 1000
    assert min(len(file()) for file in photos.values()) > 5000
