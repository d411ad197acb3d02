"""Content Security Policies (level 2) of pages that stand alone: what may run is named by its checksum."""

import base64
import hashlib
from collections.abc import Mapping


def policy(allowed: Mapping[str, str]) -> str:
    """A policy that allows this and nothing else.

    >>> policy({"img-src": "data:"})
    "default-src 'none'; img-src data:; base-uri 'none'; form-action 'none'"
    """
    whole = {"default-src": "'none'", **allowed, "base-uri": "'none'", "form-action": "'none'"}
    return "; ".join(f"{name} {value}" for name, value in whole.items())


def checksum(text: str) -> str:
    """A script or a style by its SHA-256, as a policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"
