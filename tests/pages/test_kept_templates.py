"""A template that was compiled once is not compiled again, until its words change."""

from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment

from engine_pages.pages.cache import Cache
from engine_pages.pages.kept_templates import KeptTemplates


class NeverCompiles(Environment):
    def _generate(self, *_: object, **__: object) -> str:
        raise AssertionError("compiled")


def filled(kind: type[Environment], cache: Cache, source: str) -> str:
    env = kind(loader=DictLoader({"page": source}), autoescape=True, bytecode_cache=KeptTemplates(cache))
    return env.get_template("page").render(name="R&D")


def test_what_was_compiled_once_is_filled_without_compiling(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    assert filled(Environment, cache, "for {{ name }}") == "for R&amp;D"
    assert filled(NeverCompiles, cache, "for {{ name }}") == "for R&amp;D"


def test_other_words_are_compiled_anew(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    filled(Environment, cache, "for {{ name }}")
    with pytest.raises(AssertionError, match="compiled"):
        filled(NeverCompiles, cache, "to {{ name }}")
