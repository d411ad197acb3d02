"""What charts are painted with and what is read out in their place; nothing here draws.

In: words and drawings. Out: the paints by their names, a chart's words on one line, a drawing in the printed colours.
"""

import re
from collections.abc import Mapping

from markupsafe import Markup
from msgspec import Struct

# The names are those of colours.css.
INK = "var(--ink)"
SECOND_INK = "var(--second-ink)"
PAPER = "var(--paper)"
SUNK = "var(--sunk)"
HAIRLINE = "var(--hairline)"
OPEN_LINE = "var(--open-line)"
STEEL = "var(--steel)"
BAND = "var(--band)"
WARM = "var(--warm)"
BEYOND = "var(--beyond)"
SHELF = "url(#ep-shelf)"  # a hatching of marks.HATCHINGS

# The printed set of colours.css, for a reader that knows no variables.
PRINTED: Mapping[str, str] = {
    "var(--ink)": "#000000",
    "var(--second-ink)": "#2b2b2b",
    "var(--paper)": "#ffffff",
    "var(--sunk)": "#f2f2f2",
    "var(--hairline)": "#9a9a9a",
    "var(--open-line)": "#666666",
    "var(--steel)": "#6a6a6a",
    "var(--band)": "#d9d9d9",
    "var(--warm)": "#000000",
    "var(--beyond)": "#000000",
    "var(--near-fill)": "#6a6a6a",
}

WIDE = 600  # units: a chart at least this wide is for a wide column, a narrower one for a phone


class Spoken(Struct, frozen=True):
    """What is read out in place of a chart: a title of a few words and a description of what it shows."""

    title: str
    description: str


def one_line(words: str) -> str:
    """Words as they may stand in a chart: one line, without characters that XML cannot hold."""
    spaced = re.sub(r"[ \t\r\n]+", " ", words).strip()
    return "".join(letter for letter in spaced if letter.isprintable() or letter in "\u00a0\u202f")


def printed(svg: str) -> Markup:
    """The same drawing in the printed colours as plain values, for a file of its own or a maker of PDF."""
    plain = str(svg)
    for variable, colour in PRINTED.items():
        plain = plain.replace(variable, colour)
    return Markup(plain.replace("url(#ep-shelf)", PRINTED["var(--sunk)"]))
