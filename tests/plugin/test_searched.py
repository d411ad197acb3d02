"""What the search reads of a page has the words and sections that the theme's own search finds in the whole page."""

import re

import pytest
from engine_pages.plugins.searched import searched
from material.plugins.search.plugin import Parser

PAGE = """<header class="ep-head"><h1 id="top">RB-1 <span data-search-exclude>owner <span>only</span></span></h1>
<p class="answer">Not before <b>53&nbsp;h</b> &amp; less than <a href="x.html">60&#160;h</a>.</p></header>
<figure><svg class="chart" data-search-exclude=""><title>Wear</title><text>0.01</text></svg></figure>
<section><h2 id="life">Life</h2>
<table><tr><th scope="row">Front bearing</th> <td>12 <b>h</b></td></tr></table>
<details class="data" data-search-exclude><summary>Figures</summary><p>0.061</p></details>
<ul><li>Two lines <em>on the loaded side</em></li><li><code>R-1 &lt; R-2</code></li></ul>
<img src="a.jpg" alt="a &gt; b"></section>
"""


def sections(html: str) -> list[tuple[str | None, str, str]]:
    """As the theme's search cuts a page: id, title, words."""
    reader = Parser()
    reader.feed(html)
    reader.close()
    plain = ("".join(words) for one in reader.data for words in (one.title, one.text))
    tight = [re.sub(r"\s+", " ", words).strip() for words in plain]
    return [(one.id, *tight[2 * nth : 2 * nth + 2]) for nth, one in enumerate(reader.data) if not one.is_excluded()]


def test_the_theme_s_search_finds_the_same_words_under_the_same_headings() -> None:
    assert sections(searched(PAGE)) == sections(PAGE.replace('<header class="ep-head">', "").replace("</header>", ""))


def test_what_stands_in_two_cells_is_two_words() -> None:
    cells = '<td><a href="x"><b>RB-1041</b></a></td><td>78&nbsp;%</td></tr><tr><td>near</td></tr><div>limit</div>'
    assert sections(searched(f'<h2 id="in">In it</h2><tr>{cells}'))[-1] == ("in", "In it", "RB-1041 78 % near limit")


def test_little_but_words_is_left() -> None:
    assert set(re.findall(r"</?([a-z0-9]+)", searched(PAGE))) <= {"h1", "h2", "p", "ul", "li", "code"}


@pytest.mark.parametrize(
    "part", ["<style>@page {}</style>", "<script>let a = 1</script>", "<footer><p>foot</p></footer>"]
)
def test_what_nobody_looks_for_is_left_out(part: str) -> None:
    assert searched(f"<p>a</p>{part}<p>b</p>") == "<p>a</p><p>b</p>"
