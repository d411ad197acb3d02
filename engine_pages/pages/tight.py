"""HTML without empty lines and indents: what a template lays out for those who read it, and no browser shows.

What is kept as it was typed, as in a box of text, stays so.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable
from typing import Final

_AS_TYPED: Final = re.compile(r"(<(?:pre|textarea|script|style)\b.*?</(?:pre|textarea|script|style)>)", re.DOTALL)
_BLANK_LINES: Final = re.compile(r"[ \t]*\n\s*")
_COMMENT: Final = re.compile(r"/\*.*?\*/", re.DOTALL)  # one of them shows how a page writes its own style element
_DRAWING: Final = re.compile(r"(<svg [^>]*>)<path (d=\"[^\"]{60,}\"/>)(?=</svg>)")
_BESIDE_A_TAG: Final = re.compile(r"(?<=>)\n|\n(?=<)")


def one_line(html: str) -> str:
    """Each run of blanks about an end of line as one end of line.

    >>> one_line("<p>\\n\\n  one\\n</p><pre>\\n\\n two</pre>")
    '<p>\\none\\n</p><pre>\\n\\n two</pre>'
    """
    return _but_as_typed(html, lambda text: _BLANK_LINES.sub("\n", text))


def one_run(html: str) -> str:
    """And none beside a tag, for HTML in which no words run on from tag to tag.

    >>> one_run("<nav>\\n  <a>one\\n  two</a>\\n</nav>")
    '<nav><a>one\\ntwo</a></nav>'
    """
    return _but_as_typed(html, lambda text: _BESIDE_A_TAG.sub("", _BLANK_LINES.sub("\n", text)))


def drawn_once(html: str) -> str:
    """Icons of one path that stand there again as uses of the first: SVG 2, 5.6. Each page is its own document.

    >>> magnify = '<svg viewBox="0 0 24 24"><path d="' + "M9 3l2 2" * 8 + '"/></svg>'
    >>> drawn_once(magnify + magnify).partition("</svg>")[2]
    '<svg viewBox="0 0 24 24"><use href="#icon-0"/></svg>'
    """
    ids: dict[str, str] = {}
    often = {path for path, count in Counter(path for _, path in _DRAWING.findall(html)).items() if count > 1}

    def drawn(icon: re.Match[str]) -> str:
        opening, path = icon.groups()
        if path not in often:
            return icon[0]
        if path in ids:
            return f'{opening}<use href="#{ids[path]}"/>'
        ids[path] = f"icon-{len(ids)}"
        return f'{opening}<path id="{ids[path]}" {path}'

    return _DRAWING.sub(drawn, html)


def one_style(sheets: Iterable[bytes]) -> str:
    """Style sheets as one, in their order, without the words for those who work on them.

    >>> one_style([b"/* ink */\\np {\\n  margin: 0 }", b"b {}"])
    'p {\\nmargin: 0 }\\nb {}'
    """
    return _BLANK_LINES.sub("\n", _COMMENT.sub("", b"\n".join(sheets).decode("utf-8"))).strip()


def _but_as_typed(html: str, tightened: Callable[[str], str]) -> str:
    parts = _AS_TYPED.split(html)
    parts[::2] = map(tightened, parts[::2])
    return "".join(parts)
