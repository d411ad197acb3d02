"""Lines of shares.yml: a link added, ended, given a new token, every byte that a person typed left as it is.

In: the file's text as it lies there, and what is to be written. Out: the new text. The file is the shop's alone.
"""

from collections.abc import Mapping

from .edit_yaml import MapEdit, edited
from .quoted import plain_or_quoted

PATH = "shares.yml"
HEAD = "# Links to engines' histories. Whoever knows a token sees its pages: this file stays with the crew.\nshares:\n"


def with_link(text: str, values: Mapping[str, str]) -> str:
    """The text with one more link at its end.

    >>> print(with_link("", {"engine": "K-07", "edition": "owner"}).splitlines()[-1])
      - {engine: K-07, edition: owner}
    """
    line = f"- {{{', '.join(f'{key}: {plain_or_quoted(value)}' for key, value in values.items())}}}"
    body = text.rstrip()
    if not body or body.endswith(("shares:", "shares: []")):
        return f"{text.removesuffix('shares: []').rstrip()}\n  {line}\n" if body else f"{HEAD}  {line}\n"
    ending = "\r\n" if "\r\n" in text else "\n"
    return f"{body}{ending}{_indent(text)}{line}{ending}"


def _indent(text: str) -> str:
    """How far in the items of the list stand."""
    items = [one for one in text.splitlines() if one.lstrip().startswith("- ")]
    return items[0][: len(items[0]) - len(items[0].lstrip())] if items else "  "


def with_values(text: str, index: int, values: Mapping[str, str]) -> str:
    """The text with values of the link that stands at an index exchanged or added."""
    return edited(text, [MapEdit(("shares", index), values)])
