"""Where a line may break: never inside a day, and inside a word only where it is too long for any column.

In: a page's finished HTML. Out: the same HTML, in whose text a day written 2026-06-01 stands whole and a very long word
(a serial of sixty characters, a path) has places to break. Tags, drawings and styles are left as they are, and whoever
copies a word copies no more than its letters. Figures and units are held together by their hard blanks already.
"""

import re
from typing import Final

LONGEST: Final = 20  # characters of a word that every column has room for, on a phone of 390 px
PIECE: Final = 12  # and of the pieces that a longer one falls into

# A text that may hold such a word, or a tag of what is left alone, up to its end: most tags are passed by at a glance.
_TEXT_OR_ALONE: Final = re.compile(r">([^<]{10,})|<(/?)(?:svg|style|script|pre)\b[^>]*?(/?)(?=>)")
_LETTER: Final = r"(?:&#?\w+;|[^\s<>&])"
_WORD: Final = re.compile(rf"{_LETTER}{{10,}}")  # a day has ten characters, nothing shorter is of interest
_DAY: Final = re.compile(r"(?<!\d)(\d{4}-(?:0[1-9]|1[0-2])-\d{2}(?:-\d{1,2})?)(?!\d)")  # also its second sheet, -2
_PIECE: Final = re.compile(rf"(?:(?![/,;:_-]){_LETTER}){{0,{PIECE}}}[/,;:_-]|(?:(?![/,;:_-]){_LETTER}){{1,{PIECE}}}")
_JOINER: Final = "\u2060"  # a figure that is held together on purpose
_BREAK: Final = "<wbr>"


def with_line_breaks(html: str) -> str:
    """The HTML with days held together and long words given places to break.

    >>> with_line_breaks('<h1 id="2026-06-01">Teardown 2026-06-01</h1>')
    '<h1 id="2026-06-01">Teardown <span class="day">2026-06-01</span></h1>'
    >>> with_line_breaks("<td>SERIALWITHOUTANYENDTOIT 60.061&nbsp;mm</td>")
    '<td>SERIALWITHOU<wbr>TANYENDTOIT 60.061&nbsp;mm</td>'
    """
    out: list[str] = []
    at = inside = 0  # drawings may stand in drawings
    for found in _TEXT_OR_ALONE.finditer(html):
        text, closes, is_empty = found.groups()
        if text is None:
            inside += 0 if is_empty else -1 if closes else 1
        elif not inside:
            out += [html[at : found.start(1)], _WORD.sub(lambda word: _settled(word[0]), text)]
            at = found.end()
    out.append(html[at:])
    return "".join(out)


def _settled(word: str) -> str:
    """One word, with its days whole and, where it is long, with places to break between."""
    if len(re.findall(_LETTER, word)) <= LONGEST or _JOINER in word:
        return _DAY.sub(r'<span class="day">\1</span>', word)
    pieces: list[str] = []
    for number, text in enumerate(_DAY.split(word)):
        pieces += [f'<span class="day">{text}</span>'] if number % 2 else _PIECE.findall(text)
    return _BREAK.join(pieces)
