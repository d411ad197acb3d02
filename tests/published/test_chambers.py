"""Low chambers and their spread against a rotary workshop manual and common practice of the trade."""

import pytest

from engine_pages.wear.chambers import apart, low_chambers

# A rotary workshop manual, read: standard 830 kPa, least 680 kPa, both at 250 rpm; chambers of one rotor within
# 150 kPa, rotors within 100 kPa of each other.
STANDARD, LEAST, BETWEEN_CHAMBERS = 830.0, 680.0, 150.0


def test_the_standard_and_the_least_of_one_rotor_are_just_within_the_spread_against_a_rotary_workshop_manual() -> None:
    # The manual's own figures agree: a face at its least beside one at the standard lies exactly as far as is allowed.
    assert apart([STANDARD, LEAST]) == BETWEEN_CHAMBERS
    assert low_chambers([STANDARD, STANDARD, LEAST], BETWEEN_CHAMBERS, "ring", LEAST).pattern == "even"
    assert low_chambers([STANDARD, STANDARD, LEAST - 1.0], BETWEEN_CHAMBERS, "ring", LEAST).pattern == "one low"


@pytest.mark.parametrize(
    ("faces", "pattern"),
    [
        ([820.0, 815.0, 640.0], "one low"),  # a side seal belongs to one face
        ([820.0, 640.0, 650.0], "two neighbours low"),  # an apex or corner seal parts two, and both lose
        ([640.0, 820.0, 650.0], "two neighbours low"),  # the third face and the first meet at an apex as well
        ([640.0, 650.0, 645.0], "all low"),  # wear all round, or a weak battery: no face stands out
    ],
)
def test_one_low_face_and_two_neighbours_are_told_apart_as_common_practice_has_it(
    faces: list[float], pattern: str
) -> None:
    # Common practice of the rotary trade: one low face about a side seal, two neighbours about an apex or corner seal.
    assert low_chambers(faces, BETWEEN_CHAMBERS, "ring", LEAST).pattern == pattern


def test_two_low_cylinders_side_by_side_against_common_practice() -> None:
    # Common practice of the piston trade: two low cylinders side by side are consistent with the gasket between them.
    # A maker's manual for a car engine, read: 1.37 MPa at least, cylinders within 0.10 MPa.
    assert low_chambers([1.47, 1.20, 1.21, 1.46], 0.10, "line", 1.37).pattern == "two neighbours low"
    assert low_chambers([1.20, 1.47, 1.46, 1.21], 0.10, "line", 1.37).pattern == "several low"
