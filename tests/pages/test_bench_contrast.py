"""The bench page in sunlight: its words against its paper, by WCAG 2.2, success criterion 1.4.6 (AAA): 7 to 1."""

import re
from itertools import product
from pathlib import Path

import pytest

STYLE = (Path(__file__).parents[2] / "site_template" / "bench" / "bench.css").read_text(encoding="utf-8")
PALETTES = [
    dict(re.findall(r"--([\w-]+): (#\w+)", block)) for block in re.findall(r":root \{(.*?)\}", STYLE, re.DOTALL)
]
WORDS = (("ink", "paper"), ("second", "paper"), ("warm", "paper"), ("on-steel", "steel"))


def luminance(colour: str) -> float:
    """Relative luminance, as WCAG 2.2 defines it."""
    wide = colour if len(colour) == 7 else "#" + "".join(2 * digit for digit in colour[1:])
    red, green, blue = (int(wide[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in (red, green, blue)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize(("palette", "words"), list(product((0, 1), WORDS)), ids=str)
def test_words_can_be_read_in_sunlight_against_wcag_2_2(palette: int, words: tuple[str, str]) -> None:
    first, second = sorted((luminance(PALETTES[palette][name]) for name in words), reverse=True)
    assert (first + 0.05) / (second + 0.05) >= 7
