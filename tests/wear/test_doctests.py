"""Every example in the numbers room runs as it is printed."""

import doctest
import importlib
import pkgutil

import pytest

import engine_pages.wear

ROOM = engine_pages.wear
MODULES = sorted(one.name for one in pkgutil.walk_packages(ROOM.__path__, f"{ROOM.__name__}.") if not one.ispkg)
INSIDE = ("engine_pages.wear.pool.plan", "engine_pages.wear.pool.stats")  # of the model alone: they promise nothing


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_run_as_printed(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
    assert result.attempted > 0 or name in INSIDE
