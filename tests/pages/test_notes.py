"""What a person types into a note is read as they meant it, and can do nothing to the page it stands on."""

import doctest
import time
from html.parser import HTMLParser

import jinja2
import markdown
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.pages import notes
from engine_pages.pages.notes import plain, render_note

HARMLESS_TAGS = {"a", "blockquote", "br", "code", "del", "em", "h3", "h4", "h5", "hr", "li", "ol", "p", "pre", "strong"}
HARMLESS_TAGS |= {"sub", "sup", "table", "tbody", "td", "th", "thead", "tr", "ul"}
HARMLESS_ATTRIBUTES = {("a", "href"), ("a", "title"), ("a", "rel"), ("th", "align"), ("td", "align")}


class Seen(HTMLParser):
    """What a browser would find: elements, attributes, words."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.others: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words += data

    def handle_comment(self, data: str) -> None:
        self.others.append(data)

    def handle_decl(self, decl: str) -> None:
        self.others.append(decl)

    def handle_pi(self, data: str) -> None:
        self.others.append(data)

    def unknown_decl(self, data: str) -> None:
        self.others.append(data)


def assert_harmless(html: str) -> None:
    seen = Seen(html)
    assert seen.others == []
    assert {tag for tag, _ in seen.elements} <= HARMLESS_TAGS
    for tag, attributes in seen.elements:
        assert {(tag, name) for name in attributes} <= HARMLESS_ATTRIBUTES
        assert (attributes.get("href") or "https://").lower().startswith(("https://", "mailto:"))
        assert (attributes.get("align") or "left") in ("left", "center", "right")
        assert tag != "a" or attributes["rel"] == "noopener noreferrer nofollow"
    assert "{" not in html
    assert "}" not in html


# Probes of the kinds that the OWASP cheat sheet on cross-site scripting filters lists, written anew.
PROBES = [
    "<script>alert(1)</script>",
    "<SCRIPT SRC=https://bad.example/x.js></SCRIPT>",
    "<scr<script>ipt>alert(1)</scr</script>ipt>",
    "<scr<!-- -->ipt>alert(1)</script>",
    "[tap](javascript:alert(1))",
    "[tap](java\tscript:alert(1))",
    "[tap](JaVaScRiPt:alert(1))",
    "[tap](&#106;avascript:alert(1))",
    "[tap]( javascript:alert(1))",
    "[tap](<java\nscript:alert(1)>)",
    "[tap][1]\n\n[1]: javascript:alert(1)",
    "<javascript:alert(1)>",
    "[tap](vbscript:msgbox(1))",
    "[tap](data:text/html;base64,PHNjcmlwdD4=)",
    "[tap](//bad.example/x)",
    "[tap](../../s/other-token/)",
    "[tap](https:bad.example)",
    "[tap](http://bad.example)",
    '[tap](https://good.example "x\\" onmouseover=\\"alert(1)")',
    "[tap](https://good.example){: onclick=alert(1) }",
    "# Heading {: onclick=alert(1) style=position:fixed }",
    "A paragraph.\n{: .md-header onclick=alert(1) }",
    "<img src=x onerror=alert(1)>",
    "![pixel](https://bad.example/seen.gif)",
    "![x](javascript:alert(1))",
    '<svg onload="alert(1)"><animate onbegin=alert(1)></svg>',
    "<math><mtext><table><mglyph><style><img src=x onerror=alert(1)></style></mglyph></table></mtext></math>",
    '<iframe src="https://bad.example"></iframe>',
    "<style>body{display:none}</style>",
    '<p style="position:fixed;inset:0">covered</p>',
    '<div markdown="1">*x*</div>',
    '<a href="javascript:alert(1)">tap</a>',
    "<a href=https://good.example onclick=alert(1)>tap</a>",
    '<form action="https://bad.example"><input name=q></form>',
    '<object data="x"></object><embed src="x">',
    '<link rel=stylesheet href="https://bad.example/x.css"><meta http-equiv=refresh content="0">',
    "<base href='https://bad.example/'>",
    "before <!-- a comment --> after",
    "<!--[if IE]><script>alert(1)</script><![endif]-->",
    "<!-- never closed <script>alert(1)</script>",
    "<![CDATA[<script>alert(1)</script>]]>",
    "<?php echo 1 ?>",
    "<!DOCTYPE html>",
    "{{ config }} {% include 'secret' %} {# note #}",
    "`{{ config }}`\n\n    {% raw %}",
    '--8<-- "shares.yml"',
    ";--8<--\nshares.yml\n;--8<--",
    "[TOC]\n\n[^1]: x\n\n*[HTML]: <script>",
    "<br onclick=alert(1)>x<sub style=color:red>y</sub>",
    "</p></td></table></main><h1>Sold</h1>",
    "\x02script\x03 \x02wzxhzdk:0\x03 \x02amp\x03",
    "| a | b |\n|:-:|--|\n| <script>alert(1)</script> | {{ x }} |",
]


@pytest.mark.parametrize("probe", PROBES)
def test_a_note_cannot_harm_its_page(probe: str):
    assert_harmless(render_note(probe))


SIGNS = "ab \n\t<>&\"'`*_[](){}!|:-#=/\\%;.+~1\x02\x03é"
TEXTS = st.text(st.sampled_from(SIGNS), max_size=60) | st.lists(st.sampled_from(PROBES), max_size=4).map("".join)


@given(TEXTS)
@settings(max_examples=300, deadline=None, derandomize=True, database=None)
def test_no_note_at_all_can_harm_its_page(text: str):
    assert_harmless(render_note(text))


@pytest.mark.parametrize("probe", PROBES)
def test_a_template_finds_nothing_to_do_in_a_note(probe: str):
    html = render_note(probe)
    assert jinja2.Environment(autoescape=True).from_string(html + "<hr>").render() == html + "<hr>"


def test_what_looks_like_html_is_shown_as_it_was_typed():
    assert (
        Seen(render_note("Fit the <plug> last, gap <0.7 mm & >0.6.")).words
        == "Fit the <plug> last, gap <0.7 mm & >0.6."
    )
    assert Seen(render_note("<script>alert(1)</script>")).words == "<script>alert(1)</script>"
    assert Seen(render_note("<div>\n\nloaded side\n\n</div>")).words.split() == ["<div>", "loaded", "side", "</div>"]


def test_a_comment_is_not_shown_and_one_that_never_closes_is():
    assert render_note("seen<!-- for the\n\ncrew --> twice") == "<p>seen twice</p>"
    assert Seen(render_note("seen <!-- twice")).words == "seen <!-- twice"


def test_a_note_is_read_as_markdown():
    html = render_note(
        "Two *light* scratches:\n\n1. loaded side\n2. 4 o'clock\n\n> was `60.061`\n\n---\n\nH<sub>2</sub>O<br>"
    )
    assert "<em>light</em>" in html
    assert "<ol>\n<li>loaded side</li>\n<li>4 o'clock</li>\n</ol>" in html
    assert "<blockquote>\n<p>was <code>60.061</code></p>\n</blockquote>" in html
    assert "<hr>" in html
    assert "H<sub>2</sub>O<br>" in html


def test_a_table_keeps_its_alignment_without_styles():
    html = render_note("| place | mm |\n|:--|--:|\n| top | 86.012 |")
    assert '<th align="left">place</th>' in html
    assert '<td align="right">86.012</td>' in html
    assert "style" not in html


def test_a_link_to_https_or_mail_stays_and_tells_nobody_where_it_was_tapped():
    html = render_note('[limits](https://maker.example/l?a=1&b=2 "sheet 4") <mail@shop.example>')
    link, mail = Seen(html).elements[1:]
    assert link == (
        "a",
        {"href": "https://maker.example/l?a=1&b=2", "title": "sheet 4", "rel": "noopener noreferrer nofollow"},
    )
    assert mail[1]["href"] == "mailto:mail@shop.example"


def test_a_link_that_may_not_lead_anywhere_keeps_its_words():
    seen = Seen(render_note("see [the log](../log.yml) and [this](javascript:alert(1))"))
    assert seen.words == "see the log and this"
    assert all("href" not in attributes for _, attributes in seen.elements)


def test_of_an_image_its_description_is_left():
    assert Seen(render_note("Mark: ![a *bright* band](https://x.example/p.jpg), even.")).words.startswith("Mark: a ")
    assert Seen(render_note("![band][p]\n\n[p]: https://x.example/p.jpg")).words == "band"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("# A\n\n## B\n\n### C\n\n#### D", ["h3", "h4", "h5", "h5"]),
        ("## A\n\n### B", ["h3", "h4"]),
        ("### A\n\n#### B\n\n##### C\n\n###### D", ["h3", "h4", "h5", "h5"]),
        ("A\n=\n\nB\n-", ["h3", "h4"]),
        ("##### A", ["h5"]),
        ("> # A", ["h3"]),
    ],
)
def test_headings_stay_below_the_pages_own(typed: str, shown: list[str]):
    assert [tag for tag, _ in Seen(render_note(typed)).elements if tag[0] == "h"] == shown


def test_one_note_leaves_nothing_behind_for_the_next():
    render_note("[limits][a]\n\n[a]: https://maker.example/")
    assert render_note("[limits][a]") == "<p>[limits][a]</p>"
    render_note("- " * 3_000 + "too deep to be read")
    assert render_note("Seen twice.") == "<p>Seen twice.</p>"


def test_an_empty_note_is_empty():
    assert render_note("") == render_note(" \n\n ") == ""


@pytest.mark.parametrize(
    "text",
    [
        "- " * 3_000 + "deep",
        "\n".join("    " * level + "- a" for level in range(300)),
        "> " * 3_000 + "deep",
        "[" * 20_000,
        "![" * 10_000,
        "<![CDATA[" * 3_000,
        "<!--" * 10_000,
        "*a _b " * 5_000,
        "word " * 20_000,
    ],
    ids=["list", "steps", "quote", "brackets", "images", "cdata", "comments", "emphasis", "long"],
)
def test_a_note_made_to_exhaust_the_reader_is_set_as_plain_paragraphs_in_good_time(text: str):
    before = time.perf_counter()
    html = render_note(text)
    assert time.perf_counter() - before < 5  # seconds; brackets alone took 52 without the limit
    assert_harmless(html)


def test_what_is_too_deep_for_markdown_keeps_every_word():
    assert Seen(render_note("- " * 3_000 + "deep & <b>\n\nlast")).words.endswith("- deep & <b>\nlast")


# Plain fields

FIELDS = [
    "RB-1042",
    "<b>bold</b> & \"quoted\" 'single'",
    "apex_seal_2 *not* `code` [x](y) {{ z }} {% q %}",
    'x" onmouseover="alert(1)',
    "x' onmouseover='alert(1)",
    "x` onmouseover=`alert(1)",
    "a\\*b | c ~~d~~ __e__ ![f](g) &amp; &#60;",
    "first\n\nsecond\tthird",
    '"" {: onclick=alert(1) } --8<-- "shares.yml"',
]


@pytest.mark.parametrize("text", FIELDS)
def test_a_plain_field_reads_back_as_it_was_typed(text: str):
    assert Seen(f"<p>{plain(text)}</p>").words == text
    for quote in "\"'":
        ((_, attributes),) = Seen(f"<a title={quote}{plain(text)}{quote}>").elements
        assert attributes == {"title": text}


@pytest.mark.parametrize("text", FIELDS)
def test_a_plain_field_means_nothing_to_markdown_or_a_template(text: str):
    line = f"Part {plain(text)} end"
    assert jinja2.Environment().from_string(line).render() == line
    site = markdown.Markdown(extensions=["attr_list", "tables", "md_in_html", "footnotes", "abbr"])
    seen = Seen(site.convert(line))
    assert [tag for tag, _ in seen.elements] == ["p"]
    assert seen.words == f"Part {text} end"


def test_ordinary_words_are_left_as_they_are():
    assert plain("Rotor bearing 2, loaded side: 60.061 mm (−0.002), µ, é") == (
        "Rotor bearing 2, loaded side: 60.061 mm (−0.002), µ, é"
    )


def test_the_examples_of_the_module_run():
    assert doctest.testmod(notes).failed == 0
