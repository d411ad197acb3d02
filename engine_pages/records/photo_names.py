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


def _slug(text: str) -> str:
    """Lower-case a–z, digits and single hyphens; accents are dropped, other scripts too."""
    letters = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", letters)[:_NAME_LENGTH].strip("-")
