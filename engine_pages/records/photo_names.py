"""What a photo is called once it has left the camera: its place and its view, never the camera's own name."""

import re
import unicodedata
from typing import Final

_NAME_LENGTH: Final = 40  # characters of position and of view each; whole paths have to fit old file systems


def place_and_view(position: str | None, view: str | None) -> str:
    """A name of lower-case letters a–z, digits and hyphens; the position None is the engine itself.

    >>> place_and_view("apex-seals-1/a2", "Loaded side"), place_and_view(None, "_Auslaß, längs")
    ('apex-seals-1-a2-loaded-side', 'engine-auslass-langs')
    """
    words = [_slug(position or "") or "engine", _slug(view or "")]
    return "-".join(word for word in words if word)


def published_name(position: str | None, view: str | None, number: int) -> str:
    """Name of a published photo, without suffix: place, view and number, never the camera's own file name.

    position: the place in the engine; None is the engine itself. view: as this edition shows it. number: from 1,
    counted over one sheet, which makes names of one sheet differ whatever the other two are.
    Lower-case letters a–z, digits and hyphens only.

    >>> published_name("apex-seals-1/a2", "Loaded side", 3)
    'apex-seals-1-a2-loaded-side-03'
    >>> published_name(None, "_Auslaß, längs", 1)
    'engine-auslass-langs-01'
    """
    if number < 1:
        raise ValueError(f"photos are counted from 1, not {number}")
    return f"{place_and_view(position, view)}-{number:02d}"


def _slug(text: str) -> str:
    """Lower-case a–z, digits and single hyphens; accents are dropped, other scripts too."""
    letters = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", letters)[:_NAME_LENGTH].strip("-")
