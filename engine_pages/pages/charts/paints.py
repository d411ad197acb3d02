"""What charts are painted with and what is read out in their place; nothing here draws.

In: words and drawings. Out: the paints by their names, a chart's words on one line, a drawing in the printed colours.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

# Stand-in colours: what matplotlib paints with, and what the page sees instead. The names are those of colours.css.
PAINTS: Mapping[str, str] = {
    "#01ee01": "var(--ink)",
    "#02ee02": "var(--second-ink)",
    "#03ee03": "var(--paper)",
    "#04ee04": "var(--sunk)",
    "#05ee05": "var(--hairline)",
    "#06ee06": "var(--open-line)",
    "#07ee07": "var(--steel)",
    "#08ee08": "var(--band)",
    "#09ee09": "var(--warm)",
    "#0aee0a": "var(--beyond)",
    "#0bee0b": "url(#ep-shelf)",  # the hatching of shared_patterns()
}
INK, SECOND_INK, PAPER, SUNK, HAIRLINE, OPEN_LINE, STEEL, BAND, WARM, BEYOND, SHELF = PAINTS

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
CLASS_PREFIX = "class:"  # a figure's artist whose gid begins so gets the rest as its class


@dataclass(frozen=True, slots=True)
class Spoken:
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
