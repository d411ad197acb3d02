"""Text that people wrote, made safe for a page.

In: a note in Markdown, or a plain field, as typed. Out: HTML that can neither run, load nor link to anything but https
and mail addresses, and that no later pass of Markdown or templates finds anything to do in.

Notes have their own Markdown, apart from the site's, whose extensions let attributes and files in. HTML typed into a
note is shown as typed, except a few marks that Markdown lacks; so `fit the <plug> last` loses no word.
"""

import re
from functools import cache
from typing import Final
from xml.etree.ElementTree import Element

import nh3
from markdown import Markdown
from markdown.extensions import Extension
from markdown.extensions.sane_lists import SaneListExtension
from markdown.extensions.tables import TableExtension
from markdown.inlinepatterns import HtmlInlineProcessor
from markdown.treeprocessors import Treeprocessor

MAX_NOTE: Final = 50_000
"""Characters of a note that are read as Markdown; a longer text is set as plain paragraphs."""

MAX_BRACKETS: Final = 1_000
"""Opening brackets in a note: the Markdown library's time grows with their square, 0.1 s at this many."""

_INLINE_TAGS: Final = {"a", "br", "code", "del", "em", "strong", "sub", "sup"}
_BLOCK_TAGS: Final = {"p", "pre", "ul", "ol", "li", "blockquote", "h3", "h4", "h5", "hr"}
_TABLE_TAGS: Final = {"table", "thead", "tbody", "tr", "th", "td"}
_ATTRIBUTES: Final = {"a": {"href", "title"}, "th": {"align"}, "td": {"align"}}
_SCHEMES: Final = ("https://", "mailto:")

_TOP_HEADING: Final = 3  # a page's own headings are h1 and h2
_LOWEST_HEADING: Final = 5

# Marks that Markdown lacks and that carry no attribute: all the HTML that a note may hold.
_HTML_MARKS: Final = r"(</?(?:br|del|sub|sup)\s*/?>)"

# Braces mean something to templates and to Markdown's attribute lists; as entities they are only seen.
_BRACES: Final = {ord("{"): "&#123;", ord("}"): "&#125;"}
# What HTML, a template or Markdown inside a line would act upon. Line breaks too: a blank line ends Markdown's HTML.
_PLAIN: Final = {ord(sign): f"&#{ord(sign)};" for sign in "\"'`*_[]{}\\|~\t\n\r"} | {
    ord("&"): "&amp;",
    ord("<"): "&lt;",
    ord(">"): "&gt;",
}


def render_note(text: str) -> str:
    """Harmless HTML of a note in Markdown with tables: block elements, headings from h3 to h5, no images.

    Of an image its description is left. An HTML comment is dropped. Links lead to https and mailto only. What the
    Markdown library cannot digest (too long, too deep) is set as plain paragraphs; no word is lost.

    >>> render_note("# Strip\\n\\nBearing **2**: <0.05 mm")
    '<h3>Strip</h3>\\n<p>Bearing <strong>2</strong>: &lt;0.05 mm</p>'
    """
    text = _without_comments(text)
    if len(text) > MAX_NOTE or text.count("[") > MAX_BRACKETS:
        return _as_paragraphs(text)
    markdown = _note_markdown()
    markdown.reset()  # a link's address, defined in one note, is not for the next
    try:
        html = markdown.convert(text)
    except RecursionError:  # lists in lists in lists; the library has no limit of its own
        _note_markdown.cache_clear()  # it still believes itself inside them, and a reset does not tell it
        return _as_paragraphs(text)
    return _cleaned(html).translate(_BRACES)


def plain(text: str) -> str:
    """A plain field as HTML: safe in text, in a quoted attribute, and inside a line of Markdown or a template.

    Every character is kept; those that mean something to HTML, Markdown or templates become character references.

    >>> plain('<b onclick="x">')
    '&lt;b onclick=&#34;x&#34;&gt;'
    >>> plain("RB-1042, 60.061 mm")
    'RB-1042, 60.061 mm'
    """
    return text.translate(_PLAIN)


class _NoteRules(Extension):
    """Markdown without its own HTML, with headings moved below the page's and images reduced to their words."""

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802 — the library calls it by this name
        md.preprocessors.deregister("html_block")
        md.inlinePatterns.register(HtmlInlineProcessor(_HTML_MARKS, md), "html", 90)
        # After "inline" (20) has built the tree, before "prettify" (10) lays it out.
        md.treeprocessors.register(_NoteTree(md), "note", 15)


class _NoteTree(Treeprocessor):
    """Headings keep their steps: the note's highest becomes h3, and nothing goes below h5."""

    def run(self, root: Element) -> None:
        headings = [element for element in root.iter() if re.fullmatch(r"h[1-6]", element.tag)]
        down = max((_TOP_HEADING - int(heading.tag[1]) for heading in headings), default=0)
        for heading in headings:
            level = int(heading.tag[1]) + max(0, down)
            heading.tag = f"h{min(level, _LOWEST_HEADING)}"
        for image in root.iter("img"):
            image.tag, image.text = "span", image.get("alt", "")
            image.attrib.clear()


@cache
def _note_markdown() -> Markdown:
    return Markdown(extensions=[TableExtension(use_align_attribute=True), SaneListExtension(), _NoteRules()])


def _cleaned(html: str) -> str:
    return nh3.clean(
        html,
        tags=_INLINE_TAGS | _BLOCK_TAGS | _TABLE_TAGS,
        clean_content_tags={"script", "style"},
        attributes=_ATTRIBUTES,
        attribute_filter=_allowed_value,
        link_rel="noopener noreferrer nofollow",
        url_schemes={"https", "mailto"},
    )


def _allowed_value(tag: str, name: str, value: str) -> str | None:
    """An attribute's value, or None to drop it. Relative links go: a note cannot know where it will stand."""
    if tag == "a" and name == "href" and not value.lower().startswith(_SCHEMES):
        return None
    return value


def _without_comments(text: str) -> str:
    """The text without its closed HTML comments; one that never closes is text."""
    kept: list[str] = []
    place = 0
    while (start := text.find("<!--", place)) >= 0 and (end := text.find("-->", start + 4)) >= 0:
        kept.append(text[place:start])
        place = end + 3
    return "".join(kept) + text[place:]


def _as_paragraphs(text: str) -> str:
    blocks = (block.strip() for block in re.split(r"\n\s*\n", text))
    return "\n".join(f"<p>{plain(block)}</p>" for block in blocks if block)
