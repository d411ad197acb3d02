"""What a photo is called once it has left the camera."""

import pytest

from engine_pages.records.photo_names import published_name


@pytest.mark.parametrize(
    ("position", "view", "number", "expected"),
    [
        ("rotor-bearing-2", "loaded side", 1, "rotor-bearing-2-loaded-side-01"),
        ("apex-seals-1/a2", None, 12, "apex-seals-1-a2-12"),
        (None, "front", 1, "engine-front-01"),
        (None, None, 100, "engine-100"),
        ("Rotor_1", "Lauffläche ½", 2, "rotor-1-laufflache-12-02"),
        ("_hidden", "_view", 3, "hidden-view-03"),
        ("../../etc/passwd", "a\\b:c", 4, "etc-passwd-a-b-c-04"),
        ("ротор", "正面", 5, "engine-05"),
    ],
)
def test_a_published_name_is_made_of_place_view_and_number(
    position: str | None, view: str | None, number: int, expected: str
) -> None:
    assert published_name(position, view, number) == expected


def test_published_names_of_one_sheet_differ_where_place_and_view_run_together() -> None:
    assert published_name("rotor-1", None, 2) != published_name("rotor", "1", 3)


def test_a_long_view_gives_a_name_that_still_fits_a_path() -> None:
    assert len(published_name("p" * 300, "v" * 300, 1)) < 100


def test_a_photo_is_counted_from_one() -> None:
    with pytest.raises(ValueError, match="counted from 1"):
        published_name("rotor-1", None, 0)
