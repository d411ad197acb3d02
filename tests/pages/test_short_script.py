"""A script made short is the same program: what may not be touched is not, and what parts two words stays."""

import pytest

from engine_pages.pages.short_script import short_script, short_style


@pytest.mark.parametrize(
    ("written", "short"),
    [
        ('say("two  blanks // and /* no */ comment");', 'say("two  blanks // and /* no */ comment");'),
        ("const a = / [ /]\\/ {2} /.test(b) / 2 ;", "let a=/ [ /]\\/ {2} /.test(b)/2;"),
        ("say(`a  ${ one + `b  ${ two }` }  {c}`);", "say(`a  ${one+`b  ${two}`}  {c}`);"),
        ("return typeof a in b;", "return typeof a in b;"),
        ("a + +b - -c", "a+ +b- -c"),
        ("let a = 1\nlet b = 2\n", "let a=1\nlet b=2"),
        ("const a = 1;\nconst { b } = a;\nlet c;", "let a=1,{b}=a,c;"),
        (
            "const a = () => {\n  const b = 1;\n  say(b);\n  const c = 2;\n};\nconst d = 3;",
            "let a=()=>{let b=1;say(b);let c=2},d=3;",
        ),
        ("for (let i = 0; i < 9; i += 1) say(i);\nconst a = 1;", "for(let i=0;i<9;i+=1)say(i);let a=1;"),
        ("if (a) {\n  const b = 1;\n}\nconst c = 2;", "if(a){let b=1}\nlet c=2;"),
        ("async function a() {\n  b();\n}\n\nfunction c() {}\nd();", "async function a(){b()}function c(){}d();"),
        ("const f = () => {\n  a();\n}\ng();", "let f=()=>{a()}\ng();"),
        ("all\n  .map(one)\n  .join()", "all.map(one).join()"),
        ("a ? .5 : { b : 1 }", "a?.5:{b:1}"),
    ],
)
def test_a_script_is_shortened_to_the_same_program(written: str, short: str) -> None:
    assert short_script(written) == short


def test_a_name_that_is_asked_for_is_shortened_where_it_is_no_text() -> None:
    written = "const draft = { draft: `draft ${draft.id}` }; // draft\nsay('draft', /draft/, drafts);"
    assert short_script(written, {"draft": "d"}) == "let d={d:`draft ${d.id}`};say('draft',/draft/,drafts);"


def test_a_shorter_name_that_is_taken_is_refused() -> None:
    with pytest.raises(ValueError, match="d is a name of this script already"):
        short_script("const draft = 1, d = 2;", {"draft": "d"})


def test_a_style_keeps_what_its_blanks_mean() -> None:
    style = "nav a :hover, nav + p > b {\n  width: calc(1px + 2px); font: 1rem/1.4 'A B', serif;\n}\n"
    assert short_style(style) == "nav a :hover,nav + p > b{width:calc(1px + 2px);font:1rem/1.4 'A B',serif}"
