"""Ids: names of folders, files and serials that an address can be made of. They are compared whole, here alone."""

import re

ID_LENGTH = 64
_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
ALLOWED = f"letters, digits, '.', '_' and '-', at most {ID_LENGTH}"


def is_id(text: str) -> bool:
    """Whether `text` can be an id. A name of dots alone is a folder to a computer, not an id.

    >>> is_id("K-07"), is_id("K 07"), is_id(".."), is_id("a" * 65)
    (True, False, False, False)
    """
    return _ID.fullmatch(text) is not None and text.strip(".") != ""


def same_id(one: str, other: str) -> bool:
    """Whether two ids name the same thing: letter for letter, so that E1 is not E12 and k-07 is not K-07."""
    return one == other


def file_id(serial: str) -> str:
    """A serial as its file is named: '-' stands for each sign that an id may not hold.

    >>> file_id("RB/10 42")
    'RB-10-42'
    """
    return re.sub(r"[^A-Za-z0-9._-]", "-", serial)[:ID_LENGTH]
