"""What an engine's site weighs on the host: a line at a track day carries it, and a shop has hundreds of them."""

from pathlib import Path

import pytest
from engine_pages.plugins.publish import publish
from speed import shops

PAGES, MOST = 30, 1_000_000  # of the site and its bytes without photos: what was asked of Sharing
SECOND_ROW = ("rotor", "rotor-bearing", "apex-seals", "apex-springs", "side-seals", "rotor-housing")
PHOTOS = {".jpg", ".png", ".webp"}


def test_thirty_pages_of_an_engine_weigh_less_than_a_megabyte_without_photos(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rotary of one rotor after its first season, that has thirty pages, its history for paper beside them."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(shops, "SEASONS", 1)
    one_row = {place: part for place, part in shops.PARTS.items() if place not in {f"{name}-2" for name in SECOND_ROW}}
    monkeypatch.setattr(shops, "PARTS", one_row)
    for name in ("PHOTOGRAPHED", "WITH_A_FILE"):
        monkeypatch.setattr(shops, name, tuple(place for place in getattr(shops, name) if place in one_row))
    publish(shops.write_shop(tmp_path / "shop", 2), tmp_path / "tree", shops.TODAY)
    for site in (path for path in (tmp_path / "tree" / "s").iterdir() if path.is_dir()):
        files = {path: path.stat().st_size for path in site.rglob("*") if path.is_file() and path.suffix not in PHOTOS}
        assert len([path for path in files if path.suffix == ".html" and path.name != "dossier.html"]) == PAGES
        assert 0.5 * MOST < sum(files.values()) < MOST
