"""Figures in words: what a page says of a number, a date, a count.

In: numbers with their unit and uncertainty, dates, names. Out: plain text as the trade writes it, with a real minus
sign and with blanks that do not break between a figure and its unit.
"""

import math
import re
from collections.abc import Sequence
from datetime import date
from typing import Final

from engine_pages.history.months import MonthOnly

HARD_BLANK: Final = "\u00a0"  # does not break
MINUS: Final = "\u2212"
CANNOT_TELL: Final = "cannot tell"

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_GROUPED_FROM = 10_000  # figures of four digits are read as one word: 9000 rpm
_ISO_DAY = re.compile(r"(?<![\w/.-])\d{4}-(?:0[1-9]|1[0-2])-\d{2}(?![\w/.-]*[\w/])")  # a day, not a piece of a path


def day_words(day: date) -> str:
    """A date that cannot be read as another: `12 Oct 2026`.

    >>> day_words(date(2026, 3, 7)).replace(HARD_BLANK, " ")
    '7 Mar 2026'
    """
    if isinstance(day, MonthOnly):
        return month_words(day)
    return f"{day.day}{HARD_BLANK}{_MONTHS[day.month - 1]}{HARD_BLANK}{day.year}"


def month_words(day: date) -> str:
    """Month and year: `Oct 2026`."""
    return f"{_MONTHS[day.month - 1]}{HARD_BLANK}{day.year}"


def span_words(began: date | None, ended: date | None) -> str:
    """A stretch of time: `7 Mar 2026 – 12 Oct 2026`, `since 24 Oct 2026`, `until …`.

    >>> span_words(date(2026, 10, 24), None).replace(HARD_BLANK, " ")
    'since 24 Oct 2026'
    """
    if began is None:
        return f"until {day_words(ended)}" if ended else "dates unknown"
    if ended is None:
        return f"since {day_words(began)}"
    if began == ended:
        return day_words(began)
    return f"{day_words(began)} – {day_words(ended)}"


def figure_words(value: float, decimals: int) -> str:
    """A number with so many decimals, a real minus sign, no minus zero, and large figures in groups.

    >>> figure_words(-0.1234, 2), figure_words(-0.001, 2), figure_words(10400, 0).replace(HARD_BLANK, " ")
    ('−0.12', '0.00', '10 400')
    """
    rounded = round(value, decimals)
    text = f"{abs(rounded):.{max(decimals, 0)}f}"
    if abs(rounded) >= _GROUPED_FROM:
        whole, dot, part = text.partition(".")
        text = f"{int(whole):,}".replace(",", HARD_BLANK) + dot + part
    return MINUS + text if rounded < 0 else text


def signed_words(value: float, decimals: int) -> str:
    """A change: its sign is always written.

    >>> signed_words(0.047, 3), signed_words(-0.12, 2), signed_words(0.0, 2)
    ('+0.047', '−0.12', '0.00')
    """
    text = figure_words(value, decimals)
    return f"+{text}" if round(value, decimals) > 0 else text


def supported_decimals(uncertainty: float) -> int:
    """Decimals that an uncertainty supports: two significant digits of it up to 354, one from 355 to 949.

    The rule of the Particle Data Group (Review of Particle Physics, Introduction, section 5.3); its own examples:
    0.827 ± 0.119 is given as 0.83 ± 0.12, and 0.827 ± 0.367 as 0.8 ± 0.4. Negative for tens and hundreds.

    >>> supported_decimals(0.119), supported_decimals(0.367), supported_decimals(0.0096)
    (2, 1, 3)
    """
    if not (uncertainty > 0.0 and math.isfinite(uncertainty)):
        raise ValueError(f"an uncertainty is above zero, not {uncertainty}")
    exponent = math.floor(math.log10(uncertainty))
    leading = round(uncertainty / 10.0**exponent * 100.0)  # its three highest digits, 100 to 1000
    if 355 <= leading < 950:
        return -exponent
    # From 950 on it is rounded up to 1000, of which two digits stand: those of the next power of ten.
    return 1 - exponent if leading < 355 else -exponent


def needed_decimals(value: float) -> int:
    """How many decimals it takes to print a written figure whole, six at the most.

    >>> needed_decimals(60.105), needed_decimals(0.1), needed_decimals(12.0)
    (3, 1, 0)
    """
    return len(f"{value:.6f}".rstrip("0").partition(".")[2])


def value_decimals(uncertainty: float | None, written: int) -> int:
    """Decimals of a measured value: what its uncertainty supports, but no more than were written down.

    `uncertainty` is U = k·u in the value's unit; with none known the digits as written stand.

    >>> value_decimals(0.003, 3), value_decimals(0.12, 3), value_decimals(12.0, 1), value_decimals(None, 2)
    (3, 2, 0, 2)
    """
    if uncertainty is None or not uncertainty > 0.0:
        return written
    return max(0, min(supported_decimals(uncertainty), written))


def unit_words(figure: str, unit: str) -> str:
    """A figure and its unit, held together.

    >>> unit_words("60.061", "mm").replace(HARD_BLANK, " "), unit_words("5", "")
    ('60.061 mm', '5')
    """
    return f"{figure}{HARD_BLANK}{unit}" if unit else figure


def percent_words(share: float) -> str:
    """A share in whole per cent: `67 %`; below a half it says so rather than nothing.

    >>> percent_words(0.666).replace(HARD_BLANK, " "), percent_words(0.001).replace(HARD_BLANK, " ")
    ('67 %', 'under 1 %')
    """
    if 0.0 < share < 0.005:
        return f"under 1{HARD_BLANK}%"
    return f"{figure_words(share * 100.0, 0)}{HARD_BLANK}%"


def chance_words(chance: float) -> str:
    """A chance in whole per cent, never as certain as it is not: `82 %`, `under 1 %`, `over 99 %`.

    >>> [chance_words(p).replace(HARD_BLANK, " ") for p in (0.82, 0.001, 0.9999)]
    ['82 %', 'under 1 %', 'over 99 %']
    """
    if chance > 0.99:
        return f"over 99{HARD_BLANK}%"
    return f"under 1{HARD_BLANK}%" if chance < 0.01 else percent_words(chance)


def written_decimals(written: str) -> int:
    """Decimals of the first number in what was written: `4.1 bar` has one.

    >>> written_decimals("4.1 bar"), written_decimals("812"), written_decimals("not measurable")
    (1, 0, 0)
    """
    found = re.search(r"\d+(?:\.(\d+))?", written)
    return len(found[1]) if found and found[1] else 0


def range_words(low: float, high: float, decimals: int) -> str:
    """Both ends of an interval: `0.12–0.49`, and with words between them where a sign would be lost.

    >>> range_words(0.12, 0.49, 2), range_words(-0.02, 0.49, 2)
    ('0.12–0.49', '−0.02 to 0.49')
    """
    first, last = figure_words(low, decimals), figure_words(high, decimals)
    return f"{first} to {last}" if MINUS in first + last else f"{first}–{last}"


def count_words(count: int, one: str, several: str | None = None) -> str:
    """How many of a thing: `1 reading`, `3 readings`, `no readings`.

    >>> count_words(0, "photo"), count_words(2, "part not measured", "parts not measured")
    ('no photos', '2\\xa0parts not measured')
    """
    many = several or f"{one}s"
    return f"no {many}" if count == 0 else f"{count}{HARD_BLANK}{one if count == 1 else many}"


def list_words(words: Sequence[str]) -> str:
    """Words in a row: `a`, `a and b`, `a, b and c`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def quoted_words(text: str) -> str:
    """What somebody wrote, in quotation marks."""
    return f"“{text}”"


def capital(text: str) -> str:
    """The text with its first letter large; ids, file names and units stay as they are.

    >>> capital("over-rev"), capital("rb-1.jpg is missing"), capital("µm only"), capital("")
    ('Over-rev', 'rb-1.jpg is missing', 'µm only', '')
    """
    first = text.split(" ", 1)[0].rstrip(",.;:").replace("-", "")
    return text[:1].upper() + text[1:] if first.isalpha() and first.isascii() else text


def dated(text: str) -> str:
    """A sentence with its days as pages write them; a day inside a path or a name stays as it is.

    >>> dated("shrank since 2024-11-30, see engines/K-07/teardowns/2026-10-17/teardown.yml")
    'shrank since 30\xa0Nov\xa02024, see engines/K-07/teardowns/2026-10-17/teardown.yml'
    """
    return _ISO_DAY.sub(lambda found: _day_in_words(found[0]), text)


def _day_in_words(iso: str) -> str:
    try:
        return day_words(date.fromisoformat(iso))
    except ValueError:  # no day of the calendar: somebody's own figures
        return iso


def ended(text: str) -> str:
    """The text with a full stop, where it has no end of its own."""
    return text if text.endswith((".", "!", "?", "”")) else f"{text}."


def small(text: str) -> str:
    """The text with its first letter small, as a name stands inside a sentence; ids and abbreviations stay.

    >>> small("Rotor bearing 2"), small("RB-1042"), small("O-ring")
    ('rotor bearing 2', 'RB-1042', 'O-ring')
    """
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def key_words(key: str) -> str:
    """A record's own key as words: `inside_diameter` is `inside diameter`, `over_rev` is `over-rev`.

    >>> key_words("low_oil_pressure"), key_words("over_rev"), key_words("leak_down")
    ('low oil pressure', 'over-rev', 'leak-down')
    """
    return {"over_rev": "over-rev", "leak_down": "leak-down", "over_revs": "over-revs"}.get(key, key.replace("_", " "))
