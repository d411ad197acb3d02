"""The methods page: what is done, from how many readings, how often it was right, and where it is not to be trusted."""

from pathlib import Path

import pytest

from engine_pages.pages.cache import Cache
from engine_pages.pages.coverage_table import CHANCES, COMMAND, SHOPS, STRATA, WRONG
from engine_pages.pages.site import Site, build_pages

from .story_for_tests import shop
from .test_site import Reader, no_photos, page_of


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    return build_pages(shop(), None, "crew", no_photos, Cache(tmp_path_factory.mktemp("cache")))


def text_of(site: Site) -> str:
    return str(Reader(page_of(site, "methods.md").html).text).replace("\xa0", " ")


def test_every_method_is_told_with_its_smallest_sample(site: Site) -> None:
    text = text_of(site)
    for words in (
        "20 °C",
        "one-sided 95 %",
        "half-Cauchy",
        "4 readings at 3 different exposures",
        "outer range",
        "4 of 12 measured",
        "3 intervals a side",
        "3 failures for a curve or a law",
        "cranking speed",
    ):
        assert words in text, words
    assert text.count("Smallest sample:") >= 8


def test_the_rule_for_a_low_chamber_is_told_as_common_practice_and_never_a_finding(site: Site) -> None:
    text = text_of(site)
    for words in (
        "further below the highest of its test than the family’s spread allows",
        "under the limit and more than 0.5 of that spread below the highest",
        "One low face is consistent with its side seal, two low neighbours with the apex or corner seal",
        "This is common practice, and never a finding.",
        "commonly differ by up to 5 %, two leak-downs by 2 points of percent",
    ):
        assert words in text, words


def test_the_exact_model_stands_in_one_place_and_the_methods_are_told_without_it(site: Site) -> None:
    plain, _, model = text_of(site).partition("The model, for engineers")
    for words in ("half-Cauchy", "Medians:", "normal about the kind’s start"):
        assert words in model, words
        assert words not in plain, words
    assert "way to the limit" not in plain


def test_the_two_meanings_of_interval_are_told_apart(site: Site) -> None:
    text = text_of(site)
    assert "an interval is something else, and is called so there: what an engine ran between two sheets" in text
    assert "Two bearings of one engine between the same two strips are one interval, not two" in text


def test_the_cautions_stand_before_the_methods(site: Site) -> None:
    text = text_of(site)
    assert (
        text.index("no certificate of fitness")
        < text.index("local codes and licensed practice")
        < text.index("Smallest sample")
    )


def test_the_measured_table_is_printed_row_by_row(site: Site) -> None:
    html = page_of(site, "methods.md").html
    for one in (*STRATA, *WRONG):
        assert f">{one.parts}<" in html, one.group
        assert f">{one.line_90:.1f}<" in html, one.group
        assert f">{one.unbounded:.1f}<" in html, one.group
        assert f">{one.line_width:.2f}<" in html, one.group
    for said in CHANCES:
        assert f"{said.lasted:.1f} ± {said.error:.1f}" in html


def test_the_table_names_the_command_that_made_it(site: Site) -> None:
    script, shops = COMMAND.split()[1:]
    assert (Path(__file__).parents[2] / script).is_file()
    assert int(shops) == SHOPS
    assert COMMAND in text_of(site)


def test_the_strata_of_the_table_add_up_to_all_parts() -> None:
    parts = {one.group: one.parts for one in STRATA}
    for ends in (" parts", "readings of it"):
        assert sum(count for group, count in parts.items() if group.endswith(ends)) == parts["all"]
    for begins in ("extra scatter", "shared zero"):
        assert sum(count for group, count in parts.items() if group.startswith(begins)) == parts["all"]
    assert sum(one.parts for one in CHANCES) == parts["all"]


def test_where_the_model_is_wrong_the_page_says_where_not_to_trust_it(site: Site) -> None:
    text = text_of(site)
    assert "Not to be trusted: a forecast while parts run in" in text
    assert all(one.line_90 < 90.0 for one in WRONG if one.group not in ("one wild: the others", "skewed rates"))


def test_every_page_leads_to_the_methods(site: Site) -> None:
    for page in site.pages:
        if page.path != "methods.md":
            assert "How these figures are made" in page.html, page.path
    assert "how they are made, and where they are not to be trusted" in page_of(site, "engines/K-07/limits.md").html
