"""What the commands that share say: of the links that stay live after a sale, and of what a publishing took away."""

from datetime import date
from pathlib import Path

import pytest
from bench.handed import shop_in
from click.testing import CliRunner

from engine_pages.cli import main
from engine_pages.editions.registry import end_link, make_link

TODAY = date.today()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return shop_in(tmp_path / "shop")


def run(*words: str | Path) -> str:
    done = CliRunner().invoke(main, [*map(str, words)])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_sale_names_the_links_that_it_leaves_live_and_what_is_not_written_by_it(shop: Path) -> None:
    make_link(shop, "E1", "owner", TODAY, None, None)
    buyer = make_link(shop, "E1", "buyer", TODAY, None, "Dealer").token
    tag = make_link(shop, "E1", "tag", TODAY, None, None).token
    gone = make_link(shop, "E1", "buyer", TODAY, None, "Who looked first")
    end_link(shop, gone.token, TODAY)
    said = run("sold", "E1", "--to", "New Owner", "--records", shop)
    assert "1 of the old owner's links withdrawn" in said
    assert [line for line in said.splitlines() if line.startswith("still live")] == [
        f"still live: buyer (Dealer), {buyer[:6]}…; to end it: engine-pages share --revoke {buyer[:6]}",
        f"still live: tag, {tag[:6]}…",
    ]
    assert "owners: in engines/E1/engine.yml" in said
