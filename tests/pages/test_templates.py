"""Templates set what they are given: they know their page's fields, and nothing in them reckons or decides."""

from collections.abc import Iterator
from typing import Any

import pytest
from jinja2 import Template, nodes
from jinja2.meta import find_referenced_templates, find_undeclared_variables

from engine_pages.pages.render import TEMPLATES, environment
from engine_pages.shipped import shipped

NAMES = sorted(path.name for path in (shipped("site_template") / "pages").glob("*.jinja"))
RECKONING = (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow, nodes.Compare)


def parsed(name: str) -> nodes.Template:
    source = (shipped("site_template") / "pages" / name).read_text(encoding="utf-8")
    return environment().parse(source)


def with_its_layout(name: str) -> Iterator[nodes.Template]:
    """A template, and those that it extends or imports."""
    tree = parsed(name)
    yield tree
    for other in find_referenced_templates(tree):
        assert other is not None
        yield from with_its_layout(other)


@pytest.mark.parametrize("page", list(TEMPLATES))
def test_a_template_knows_exactly_the_fields_of_its_page(page: type[Any]) -> None:
    named = set().union(*(find_undeclared_variables(tree) for tree in with_its_layout(TEMPLATES[page])))
    assert named == set(page.__struct_fields__)


@pytest.mark.parametrize("page", list(TEMPLATES))
def test_a_page_says_what_its_fields_are(page: type[Any]) -> None:
    assert page.__doc__ is not None
    assert not page.__doc__.startswith(f"{page.__name__}(")  # the signature that a dataclass makes up


@pytest.mark.parametrize("name", NAMES)
def test_no_template_reckons_or_compares(name: str) -> None:
    assert [type(node).__name__ for node in parsed(name).find_all(RECKONING)] == []


@pytest.mark.parametrize("name", NAMES)
def test_no_template_calls_text_safe(name: str) -> None:
    assert [node.name for node in parsed(name).find_all(nodes.Filter) if node.name == "safe"] == []


def test_text_is_escaped() -> None:
    template: Template = environment().from_string("{{ said }}")
    assert template.render(said='<b onclick="x">') == "&lt;b onclick=&#34;x&#34;&gt;"
