"""Scripts and styles without what is there for their readers: sources in, the same program in fewer bytes out.

Names of the sources stay, but for those that are asked for, so that what a browser says of a mistake can be read.
Texts, templates and patterns stay to the letter; comments go, every blank and end of line that parts no two words, and
the second `const` of two in a row. Of our own because rjsmin 1.2 takes blanks out of a template that stands within
another, and so changes words that people read.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from msgspec import Struct

# What a slash behind it begins a pattern after, and no division.
_BEFORE_PATTERN: Final = re.compile(r"(?:[=(,;:?&|!{}\[>]|\breturn)\s*$|^\s*$")
_TOKEN: Final = re.compile(
    r"""(?P<comment>/\*.*?\*/|//[^\n]*)|(?P<text>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*')|(?P<blank>\s+)|(?P<word>[\w$]+)"""
    r"""|(?P<sign>.)""",
    re.DOTALL,
)
_PATTERN: Final = re.compile(r"/(?:\\.|\[(?:\\.|[^\]\\\n])*\]|[^/\\\[\n])+/[a-z]*")
_STRICT: Final = '"use strict";'  # once, at the head of scripts that are joined
_ONE_NAME: Final = re.compile(r"(?<=[=(,:?&|{;])\(([\w$]+)\)=$")  # the brackets of a function of one thing
# What a constant is, its reader has to know; the program does the same with a name that may change.
_SHORTER: Final[Mapping[str, str]] = {"const": "let", "true": "!0", "false": "!1"}
_WORDS: Final = re.compile(r"[\w$]")
_GOES_ON: Final = frozenset("{}([,;:?=&|<>+-*/!.`")  # a line that ends so is no whole statement, or needs no end


def short_script(script: str, names: Mapping[str, str] = MappingProxyType({})) -> str:
    """A script as short as it is without new names, but for those of `names`, each given a shorter one.

    Such a name is the program's own wherever it stands, as a property too; ValueError where the shorter one is taken.

    >>> short_script('/* A sum. */\\nfor (const one of all) {\\n  sum += `${one} mm`; // so far\\n}\\n')
    'for(let one of all){sum+=`${one} mm`}'
    """
    short, _ = _run(script.replace(_STRICT, ""), 0, "", {**_SHORTER, **names})
    return (_STRICT if _STRICT in script else "") + short


class _Statement(Struct):
    """The first word of the statement that is being read, and of the one before it where that ended with its sign."""

    first: str = ""
    before: str = ""

    def goes_on(self, piece: str) -> None:
        """Read one more piece of it."""
        if piece == ";":
            self.first, self.before = "", self.first
        elif (self.first, piece) == ("async", "function"):
            self.first = piece
        else:
            self.first = self.first or piece


def _run(script: str, at: int, until: str, names: Mapping[str, str]) -> tuple[str, int]:
    """The script from a place to the sign that ends it (of a template's `${`, its `}`), and the place behind."""
    out, gap, inside = "", "", [_Statement()]  # the innermost block last
    while at < len(script):
        if script[at] == until and len(inside) == 1:
            return out, at + 1
        piece, at = _piece(script, at, out, names)
        if not piece.strip():
            gap = "\n" if "\n" in piece or gap == "\n" else gap or piece
            continue
        now = inside[-1]
        if piece == "let" and (now.first, now.before) == ("", "let") and out.endswith(";"):
            out, now.first, gap = f"{out[:-1]},", "let", ""  # one declaration of two names
            continue
        if piece == "}":
            out = out.removesuffix(";")
            inside.pop()
        if piece == ">":
            out = _ONE_NAME.sub(r"\1=", out)
        between = _between(out[-1:], gap, piece[0])
        if between == "\n":
            between = "" if now.first == "function" and out.endswith("}") else between  # it ends with its brace
            now.first = now.before = ""
        if piece != "}":
            now.goes_on(piece)
        if piece == "{":
            inside.append(_Statement())
        out, gap = out + between + piece, ""
    return out, at


def _piece(script: str, at: int, before: str, names: Mapping[str, str]) -> tuple[str, int]:
    """The next token, and where it ends; a comment is a blank, and a template one token with the scripts in it."""
    if script[at] == "`":
        return _template(script, at + 1, names)
    if script[at] == "/" and script[at + 1] not in "/*" and _BEFORE_PATTERN.search(before):
        found = _PATTERN.match(script, at)
        assert found is not None  # a pattern ends on its line
        return found[0], found.end()
    token = _TOKEN.match(script, at)
    assert token is not None  # any sign is one
    if token.lastgroup == "comment":
        return " ", token.end()
    if token[0] in names.values() and token.lastgroup == "word" and token[0] not in _SHORTER.values():
        raise ValueError(f"{token[0]} is a name of this script already")
    return names.get(token[0], token[0]), token.end()


def _template(script: str, at: int, names: Mapping[str, str]) -> tuple[str, int]:
    out = "`"
    while script[at] != "`":
        if script.startswith("${", at):
            inside, at = _run(script, at + 2, "}", names)
            out += f"${{{inside}}}"
        else:
            width = 2 if script[at] == "\\" else 1
            out, at = out + script[at : at + width], at + width
    return f"{out}`", at + 1


def _between(last: str, gap: str, first: str) -> str:
    """What has to stay of a gap between two signs."""
    if not gap or not last:
        return ""
    if gap == "\n":
        return "" if (last in _GOES_ON and last != "}") or first in ")]},;:?=&|.<>" else "\n"
    both_words = _WORDS.match(last) and _WORDS.match(first)
    return " " if both_words or (last in "+-" and last == first) else ""


def short_style(style: str) -> str:
    """A style sheet without comments, and without the blanks round its signs.

    >>> short_style("/* Keys. */\\nbutton, .key {\\n  margin: 0 auto; color: red;\\n}\\n")
    'button,.key{margin:0 auto;color:red}'
    """
    bare = re.sub(r"\s+", " ", re.sub(r"/\*.*?\*/", "", style, flags=re.DOTALL)).strip()
    return re.sub(r" ?([{};,]) ?|(?<=[a-z-]:) ", lambda found: found[1] or "", bare).replace(";}", "}")
