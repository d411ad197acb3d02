"""Compiled templates kept in the user's cache: a process that makes one site spends more on compiling than on filling.

In: a template's source, as its engine hands it over. Out: its bytecode. An entry is named by the source, the engine and
the interpreter, so that it never fits another.
"""

import marshal
import sys
from typing import Final

import jinja2
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket

from engine_pages.pages.cache import Cache, key_of

KIND: Final = "template"


class KeptTemplates(BytecodeCache):
    """Bytecode of templates, by content."""

    def __init__(self, cache: Cache) -> None:
        self._cache = cache

    def load_bytecode(self, bucket: Bucket) -> None:
        found = self._cache.get(KIND, _key(bucket))
        if found is not None:
            bucket.code = marshal.loads(found)

    def dump_bytecode(self, bucket: Bucket) -> None:
        if bucket.code is not None:
            self._cache.put(KIND, _key(bucket), marshal.dumps(bucket.code))


def _key(bucket: Bucket) -> str:
    """`bucket.key` holds the template's name and place, its checksum the source."""
    return key_of(jinja2.__version__, sys.version, bucket.key, bucket.checksum)
