"""What the plain site's search looks through: each section of each page with its words, as a script to be loaded.

In: finished pages with their headings. Out: `search-index.js`. A browser loads a script from a disk too, where it can
fetch nothing else.
"""

import json
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from typing import Final

from engine_pages.pages.addresses import place
from engine_pages.pages.every_page import Page

INDEX: Final = "engine-pages/scripts/search-index.js"
NOT_READ: Final = frozenset(("style", "script", "svg", "footer"))  # what a chart shows stands in its table too

Section = tuple[str, str, str, str]  # way from the site's top, title of the page, heading, words


def search_index(pages: Iterable[Page]) -> bytes:
    """The index of all pages, in their order."""
    lines = ",\n".join(json.dumps(one, ensure_ascii=False) for page in pages for one in sections_of(page))
    return f"window.enginePagesIndex = [\n{lines}\n];\n".encode()


def sections_of(page: Page) -> Iterator[Section]:
    """A page cut at its headings; what stands before the first one belongs to the page itself.

    >>> one = Page("parts/RB-1.md", "RB-1", '<h1 id="top">RB-1</h1><p>A bearing.</p><h2 id="life">Life</h2><p>12 h</p>',
    ...            ((1, "top", "RB-1"), (2, "life", "Life")), True)
    >>> list(sections_of(one))
    [('parts/RB-1.html', 'RB-1', 'RB-1', 'A bearing.'), ('parts/RB-1.html#life', 'RB-1', 'Life', '12 h')]
    """
    reader = _Reader({id: words for _, id, words in page.headings})
    reader.feed(page.html)
    way = place(page.path)
    for id, words in reader.sections:
        heading = reader.headings.get(id, page.title)
        text = " ".join(" ".join(words).split()).removeprefix(heading).strip()
        if text or id:
            yield (f"{way}#{id}" if id not in ("", "top") else way, page.title, heading, text)


class _Reader(HTMLParser):
    """Gathers the words of a page by the heading they stand under."""

    def __init__(self, headings: dict[str, str]) -> None:
        super().__init__()
        self.headings = headings
        self.sections: list[tuple[str, list[str]]] = [("", [])]
        self._unread: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in NOT_READ:
            self._unread.append(tag)
        id = dict(attrs).get("id")
        if id in self.headings and not self._unread:
            self.sections.append((id or "", []))

    def handle_endtag(self, tag: str) -> None:
        if self._unread and tag == self._unread[-1]:
            self._unread.pop()

    def handle_data(self, data: str) -> None:
        if not self._unread:
            self.sections[-1][1].append(data)
