"""What a group of engines adds to the pools and lives of its kinds: text, each pool by itself, read where it is wanted.

An engine leans on a few pools of hundreds of others: most of what these add is never parsed.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from ..history.candidates import to_text
from .gist import Gist

PARTS = ("pools", "lives")  # of a gist what is large


class Adds(Struct, frozen=True):
    """Texts: by a pool's key the candidates, by family JSON of the lives of each kind."""

    pools: Mapping[str, str]
    lives: Mapping[str, str]


def adds_of(gist: Gist) -> Adds:
    """The large part of a gist."""
    pools = {key: to_text(added) for key, added in gist["pools"].items()}
    return Adds(pools, {family: _json(lives) for family, lives in gist["lives"].items()})


def digests_of(adds: Adds) -> dict[str, dict[str, str]]:
    """By part and key a digest of what is added."""
    return {
        part: {key: hashlib.sha256(text.encode("ascii")).hexdigest()[:16] for key, text in getattr(adds, part).items()}
        for part in PARTS
    }


def to_bytes(adds: Adds) -> bytes:
    """A line that says how long each text is, and the texts."""
    parts = [(part, key, text) for part in PARTS for key, text in getattr(adds, part).items()]
    head = _json([(part, key, len(text)) for part, key, text in parts])
    return "\n".join((head, "".join(text for _, _, text in parts))).encode("ascii")


def from_bytes(data: bytes) -> Adds:
    """As `to_bytes` wrote them."""
    head, _, rest = data.decode("ascii").partition("\n")
    found: dict[str, dict[str, str]] = {part: {} for part in PARTS}
    at = 0
    for part, key, length in json.loads(head):
        found[part][key] = rest[at : at + length]
        at += length
    return Adds(**found)


def _json(added: Any) -> str:
    return json.dumps(added, separators=(",", ":"))
