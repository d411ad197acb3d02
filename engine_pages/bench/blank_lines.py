"""Lines of a blank sheet: a key with nothing behind it, what the bench wants to know behind `#`, lines put aside.

In: indents, keys and words. Out: lines of YAML without a newline.
"""

from collections.abc import Iterable, Iterator
from typing import Final

COMMENT_AT: Final = 34  # column of what stands behind a line; longer lines push it out


def line(indent: int, key: str, about: str = "") -> str:
    """A key to be filled in.

    >>> line(2, "rotor-1", "R-1")
    '  rotor-1:                        # R-1'
    """
    start = f"{' ' * indent}{key}:"
    return start + behind(start, about)


def behind(start: str, about: str) -> str:
    """A comment behind a line; nothing for nothing to say."""
    if not about:
        return ""
    plain = " ".join(about.split())
    return f"{' ' * max(COMMENT_AT - len(start), 1)}# {plain}"


def aside(lines: Iterable[str]) -> Iterator[str]:
    """The same lines as comments: they say nothing until somebody takes the sign away.

    It stands right before the words, with no blank behind it: whether a hand takes `#` away or an editor takes `# `,
    what is left stands in its column.

    >>> list(aside(["  rotor-1:", "    part: R-1"]))
    ['  #rotor-1:', '    #part: R-1']
    """
    return (f"{one[: len(one) - len(one.lstrip())]}#{one.lstrip()}" for one in lines)
