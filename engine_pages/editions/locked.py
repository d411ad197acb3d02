"""A history locked with a key that is not in the file: parts in, what goes into the file and its key out.

Each part is encrypted alone by AES-256-GCM (NIST SP 800-38D) with a random initialisation vector of 96 bits and the
part's identity as additional data: the file's random id and the part's place in it, so that no part can be changed, put
elsewhere or taken from another file. The key is new for every file. It lies in the file only wrapped by a second one,
which PBKDF2-HMAC-SHA-256 (RFC 8018) makes of eight words.
"""

import base64
import hashlib
import secrets
from collections.abc import Callable, Sequence
from typing import Final

from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from msgspec import Struct

from .words import BYTES, spelt_alike, words_of

KEY_BYTES: Final = 32  # AES-256
IV_BYTES: Final = 12  # SP 800-38D, 8.2.2: 96 bits, drawn at random
SALT_BYTES: Final = 16  # SP 800-132, 5.1 asks for 128 bits
ID_BYTES: Final = 16
ROUNDS: Final = 600_000  # of PBKDF2-HMAC-SHA-256: OWASP Password Storage Cheat Sheet
WRAPPED: Final = "key"  # stands for a part's place in the identity of the wrapped key

Random = Callable[[int], bytes]


class Box(Struct, frozen=True):
    """One thing encrypted: its initialisation vector, and its cipher text with the tag of 128 bits after it."""

    iv: bytes
    sealed: bytes


class Locked(Struct, frozen=True):
    """All that goes into the file, and the two ways to open it, which do not."""

    id: str
    parts: tuple[Box, ...]
    salt: bytes
    wrapped: Box
    key: str
    words: str


def lock(parts: Sequence[bytes], random: Random = secrets.token_bytes) -> Locked:
    """Encrypt parts with a new key. `random`: what gives that many bytes that nobody can foretell."""
    key, words, salt = random(KEY_BYTES), words_of(random(BYTES)), random(SALT_BYTES)
    name = base64url(random(ID_BYTES))
    return Locked(
        id=name,
        parts=tuple(_box(key, part, f"{name}|{place}", random) for place, part in enumerate(parts)),
        salt=salt,
        wrapped=_box(key_of_words(words, salt), key, f"{name}|{WRAPPED}", random),
        key=base64url(key),
        words=words,
    )


def _box(key: bytes, content: bytes, identity: str, random: Random) -> Box:
    iv = random(IV_BYTES)
    return Box(iv, encrypted(key, iv, content, identity.encode("ascii")))


def encrypted(key: bytes, iv: bytes, content: bytes, identity: bytes) -> bytes:
    """AES-GCM: the cipher text, as long as the content, and its tag of 16 bytes."""
    return AESGCM(key).encrypt(iv, content, identity)


def key_of_words(words: str, salt: bytes, rounds: int = ROUNDS) -> bytes:
    """The key of 32 bytes that PBKDF2-HMAC-SHA-256 makes of words, however they are typed."""
    return stretched(spelt_alike(words).encode("ascii"), salt, rounds)


def stretched(secret: bytes, salt: bytes, rounds: int) -> bytes:
    """PBKDF2-HMAC-SHA-256 (RFC 8018, 5.2), 32 bytes of it."""
    return hashlib.pbkdf2_hmac("sha256", secret, salt, rounds, KEY_BYTES)


def base64url(content: bytes) -> str:
    """Without the padding (RFC 4648, 5): 32 bytes are 43 signs, and all of them may stand in a link.

    >>> base64url(bytes(32))
    'AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA'
    """
    return base64.urlsafe_b64encode(content).decode("ascii").rstrip("=")
