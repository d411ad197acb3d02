"""Every example in a docstring of history says what it does."""

import doctest
import importlib
import pkgutil

import pytest

import engine_pages.history

MODULES = [f"engine_pages.history.{one.name}" for one in pkgutil.iter_modules(engine_pages.history.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
