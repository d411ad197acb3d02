"""Every example in the numbers room runs as it is printed."""

import doctest
import importlib
import pkgutil

import pytest

import engine_pages.wear

MODULES = sorted(module.name for module in pkgutil.iter_modules(engine_pages.wear.__path__))


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_run_as_printed(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"engine_pages.wear.{name}"))
    assert result.attempted > 0
    assert result.failed == 0
