"""Which station counts, and what stations say of form."""

import pytest

from engine_pages.wear.measured import Measured
from engine_pages.wear.stations import difference, judged, out_of_round, split_station, taper


def stations(**values: float) -> dict[str, Measured]:
    return {name.replace("_", "-"): Measured(value, 1e-6, {"zero": 0.002}) for name, value in values.items()}


BORE = stations(top_thrust=86.05, top_pin=86.03, middle_thrust=86.04, middle_pin=86.01)


def test_the_largest_and_the_smallest_station_are_named() -> None:
    assert judged(BORE, "largest") == ("top-thrust", BORE["top-thrust"])
    assert judged(BORE, "smallest") == ("middle-pin", BORE["middle-pin"])


def test_the_mean_has_no_station() -> None:
    name, value = judged(BORE, "mean")
    assert name is None
    assert value.value == pytest.approx(86.0325)
    assert value.shared == {"zero": pytest.approx(0.002)}


def test_of_equal_stations_the_first_named_counts() -> None:
    assert judged(stations(b=1.0, a=1.0), "largest")[0] == "b"
    assert judged(stations(b=1.0, a=1.0), "smallest")[0] == "b"


def test_no_station_cannot_be_judged() -> None:
    with pytest.raises(ValueError, match="needed"):
        judged({}, "largest")


@pytest.mark.parametrize(
    ("name", "halves"),
    [
        ("top-thrust", ("top", "thrust")),
        ("10-mm-down-pin", ("10-mm-down", "pin")),
        ("centre", None),
        ("-pin", None),
        ("top-", None),
        ("", None),
    ],
)
def test_a_station_is_split_at_its_last_hyphen(name: str, halves: tuple[str, str] | None) -> None:
    assert split_station(name) == halves


def test_out_of_round_is_the_largest_difference_at_one_depth() -> None:
    found = out_of_round(BORE)
    assert found is not None
    assert (found.minuend, found.subtrahend) == ("middle-thrust", "middle-pin")
    assert found.value.value == pytest.approx(0.03)


def test_taper_is_the_largest_difference_on_one_axis() -> None:
    found = taper(BORE)
    assert found is not None
    assert (found.minuend, found.subtrahend) == ("top-pin", "middle-pin")
    assert found.value.value == pytest.approx(0.02)


def test_form_does_not_know_the_zero_of_its_gauge() -> None:
    found = taper(BORE)
    assert found is not None
    assert found.value.shared == {}
    assert found.value.u == pytest.approx(2e-6**0.5)


def test_form_is_not_worked_out_where_stations_do_not_pair() -> None:
    assert out_of_round(stations(centre=1.0, edge=2.0)) is None
    assert taper(stations(top_thrust=1.0, low_pin=2.0)) is None
    assert out_of_round({}) is None


def test_a_loss_of_width_is_one_station_less_the_smallest_of_others() -> None:
    widths = stations(a=80.00, b=79.97, c=79.95, d=79.96)
    found = difference("a", ["b", "c", "d"], widths)
    assert found is not None
    assert found.value.value == pytest.approx(0.05)
    assert (found.minuend, found.subtrahend) == ("a", "c")


def test_a_difference_may_be_from_the_largest_or_the_mean() -> None:
    widths = stations(a=80.0, b=79.0, c=78.0)
    largest, middle = difference("a", ["b", "c"], widths, "largest"), difference("a", ["b", "c"], widths, "mean")
    assert largest is not None
    assert middle is not None
    assert (largest.value.value, largest.subtrahend) == (1.0, "b")
    assert (middle.value.value, middle.subtrahend) == (1.5, None)


def test_a_difference_with_a_station_not_read_is_not_given() -> None:
    widths = stations(a=80.0, b=79.0)
    assert difference("a", ["b", "c"], widths) is None
    assert difference("x", ["b"], widths) is None
    assert difference("a", [], widths) is None
