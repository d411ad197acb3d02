"""Every example in a docstring says what it does; those of the numbers room are asked for in its own tests."""

import doctest
import importlib
import pkgutil

import pytest

import engine_pages

FOUND = (one.name for one in pkgutil.walk_packages(engine_pages.__path__, "engine_pages.") if not one.ispkg)
MODULES = sorted(name for name in FOUND if not name.startswith("engine_pages.wear."))


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
