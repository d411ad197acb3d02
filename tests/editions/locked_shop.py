"""The canaries' shop locked in one file by the command, and a reader of such files that is not the page's own."""

import base64
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from engine_pages.cli import main

from .canaries import OWN

NAME = OWN.split("/")[1]
DATA = re.compile(r'<script type="application/json" id="locked">(.*?)</script>', re.DOTALL)


@dataclass(frozen=True, slots=True)
class Handed:
    """A locked file, what the command printed, and what opens it."""

    path: Path
    said: str
    key: str
    words: str

    @property
    def text(self) -> str:
        return self.path.read_text(encoding="utf-8")


def lock(shop: Path, to: Path, *more: str) -> Handed:
    done = CliRunner().invoke(
        main, ["lock", NAME, "--records", str(shop), "--edition", "owner", "--to", str(to), *more]
    )
    assert done.exit_code == 0, done.output
    key = re.search(r"link to the file: +#(\S{43})\n", done.output)
    words = re.search(r"to read out: +((?:[a-z]+ ){7}[a-z]+)\n", done.output)
    assert key is not None
    assert words is not None
    return Handed(to, done.output, key[1], words[1])


def inside(text: str) -> dict[str, Any]:
    """What the file holds, as it stands there."""
    found = DATA.search(text)
    assert found is not None
    return dict(json.loads(found[1]))


def part(box: dict[str, str], key: bytes, identity: str) -> bytes:
    """One part decrypted. InvalidTag."""
    iv, sealed = (base64.b64decode(box[name]) for name in ("iv", "sealed"))
    return AESGCM(key).decrypt(iv, sealed, identity.encode())


def opened(text: str, key: str) -> list[bytes]:
    """Every part of a file."""
    whole = inside(text)
    raw = base64.urlsafe_b64decode(f"{key}=")
    return [part(box, raw, f"{whole['id']}|{place}") for place, box in enumerate(whole["parts"])]
