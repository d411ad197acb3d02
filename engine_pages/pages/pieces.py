"""What pages are made of: small values that templates set as they are, without reckoning or deciding anything.

In: nothing. Out: the vocabulary that page data is written in. Text is plain and escaped by the template; what is
typed `Markup` is finished HTML or SVG from marks, charts or notes. A section that has nothing to show is None.
"""

from collections.abc import Iterator

from markupsafe import Markup
from msgspec import Struct

Text = str | Markup


class Heading(Struct, frozen=True):
    """A section's heading. `right` stands at the end of its line: as of when, how many."""

    id: str
    title: str
    right: str = ""


class Link(Struct, frozen=True):
    """Words that lead somewhere; with no `href` they are words."""

    words: str
    href: str | None = None


class Cell(Struct, frozen=True):
    """A cell of the title block: what it is, the figure, something small behind it, where it leads."""

    label: str
    value: Text
    small: Text = ""
    href: str | None = None


class PageHead(Struct, frozen=True):
    """What every page opens and closes with.

    `id` is set large; `under` are the lines beneath it; `cells` are always six. `claim` is the answer, `rest` what
    follows from it, `more` what is next and missing. `says` are doubts. `foot` is where the figures come from and what
    they are not. `print_margin` is the text at the foot of a printed sheet.
    """

    id: str
    under: tuple[str, ...]
    cells: tuple[Cell, ...]
    claim: Text
    rest: Text
    more: Text
    says: tuple[Text, ...]
    foot: tuple[Text, ...]
    print_margin: str

    @property
    def long(self) -> bool:
        """Whether the id is too long for the largest letters."""
        return len(self.id) > 10


class BarLine(Struct, frozen=True):
    """A line of a list of bars: name, bar, figure, word. With nothing read `figure` is empty."""

    name: Link
    under: str
    bar: Markup
    figure: Text
    state: Markup
    small: str


class Bars(Struct, frozen=True):
    """A list of bars under a heading; `note` says how the bars are to be read."""

    heading: Heading
    lines: tuple[BarLine, ...]
    note: str = ""
    more: Link | None = None


class PhotoFigure(Struct, frozen=True):
    """A photo with what it shows. Without `small` there is none, or its file is missing: `missing` says which.

    `small` and `large` are links to the two sizes, `width` and `height` those of the small one in px. `caption` is
    what the large one is shown with; `left` and `right` are set under the photo, then `strong`, then `text`.
    """

    small: str | None
    large: str | None
    width: int
    height: int
    alt: str
    caption: str
    left: str
    right: str
    strong: str
    text: str
    missing: tuple[str, ...] = ()


class Photos(Struct, frozen=True):
    """Photos in a row: four across, or as `across` says (by-two, by-three)."""

    figures: tuple[PhotoFigure, ...]
    across: str = ""


class PhotoSection(Struct, frozen=True):
    """Photos under a heading. `rows` may each have a title; `note` stands after them."""

    heading: Heading
    rows: tuple[tuple[str, Photos], ...]
    note: Text = ""
    more: Link | None = None


class KeyLine(Struct, frozen=True):
    """A line of the key to a chart: a letter, a number or a sign, and what it stands for."""

    sign: Text
    words: str


class Figures(Struct, frozen=True):
    """The figures behind a chart: names of columns, and rows of plain text."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Chart(Struct, frozen=True):
    """A chart drawn for a wide and for a narrow column, its key, and its figures for those who cannot see it."""

    title: str
    wide: Markup
    narrow: Markup
    keys: tuple[KeyLine, ...] = ()
    note: str = ""
    figures: Figures | None = None


class Charts(Struct, frozen=True):
    """Charts under a heading."""

    heading: Heading
    charts: tuple[Chart, ...]
    more: tuple[Link, ...] = ()


class Line(Struct, frozen=True):
    """A line of a plain list: a strong beginning, text, something quiet behind it, its source, where it leads.

    typed: what is to be copied into a record, under it.
    """

    strong: Text = ""
    text: Text = ""
    quiet: str = ""
    source: str = ""
    link: Link | None = None
    typed: str = ""


class Lines(Struct, frozen=True):
    """A plain list under a heading."""

    heading: Heading
    lines: tuple[Line, ...]
    note: str = ""
    more: Link | None = None


class Column(Struct, frozen=True):
    """A column of a plain table.

    `kind`: "" text, "num" figure at the right, "fig" figure at the left, "figs" figures in a row, "source", "said"
    what stands on a sheet, long words too.
    """

    title: str
    kind: str = ""
    optional: bool = False


class Entry(Struct, frozen=True):
    """A cell of a plain table: text, small lines under it, where it leads."""

    text: Text = ""
    small: tuple[Text, ...] = ()
    strong: bool = False
    href: str | None = None
    due: str = ""


class Table(Struct, frozen=True):
    """A plain table under a heading: `lean` drops its optional columns on a phone, otherwise it scrolls in a box."""

    heading: Heading
    columns: tuple[Column, ...]
    rows: tuple[tuple[Entry, ...], ...]
    lean: bool = True
    note: str = ""
    more: Link | None = None


def headings_of(page: Struct) -> tuple[Heading, ...]:
    """The headings of a page's sections, in the order of its fields; a field may hold several sections."""
    return tuple(_headings(page))


def _headings(page: Struct) -> Iterator[Heading]:
    for name in page.__struct_fields__:
        value = getattr(page, name)
        for section in value if isinstance(value, tuple) else (value,):
            heading = getattr(section, "heading", None)
            if isinstance(heading, Heading):
                yield heading
