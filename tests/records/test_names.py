"""Names are looked up word by word, and found as one pattern of all of them would find them."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.records.names import NOBODY, Names, hidden

PIECES = st.sampled_from(
    ["K-05", "k-05", "Ann", "ann ox", "+49 3", "é", "ſ", "İi", "ıI", "-", " ", ".", "5", "Ox)", "K", "\n", "\u2011"]
)
TEXTS = st.lists(PIECES, max_size=8).map("".join)


def by_one_pattern(names: list[str], text: str) -> list[tuple[int, int]]:
    """By the rule in one line, where no letter is spelt by two: whole words, hyphens as letters but beside an id, any
    blanks or hyphens for blanks.
    """
    alike = {" ".join(re.split(r"\s+", one.strip().replace("\u2011", "-"))) for one in names if len(one.strip()) > 1}
    words = [_as_pattern(one) for one in sorted(alike, key=lambda one: (-len(one), one))]
    if not words:
        return []
    pattern = re.compile("|".join(words), re.IGNORECASE)
    return [match.span() for match in pattern.finditer(text.replace("\u2011", "-"))]


def _as_pattern(name: str) -> str:
    first, last = re.match(r"[\w-]+|", name), re.search(r"[\w-]*$", name)
    assert first is not None
    assert last is not None
    begins = r"(?<!\w)" if _is_id(first[0]) else r"(?<![\w-])"
    ends = r"(?!\w)" if _is_id(last[0]) else r"(?![\w-])"
    return begins + r"[\s-]+".join(map(re.escape, name.split(" "))) + ends


def _is_id(word: str) -> bool:
    marked = any(letter.isalpha() for letter in word) and any(sign in "-0123456789" for sign in word)
    return marked and not word.startswith("-") and not word.endswith("-")


@settings(max_examples=400, deadline=None)
@given(st.lists(TEXTS, max_size=5), TEXTS)
def test_names_are_found_as_one_pattern_of_all_would_find_them(names: list[str], text: str) -> None:
    assert list(Names(dict.fromkeys(names, NOBODY)).foreign_in(text, "K-07")) == by_one_pattern(names, text)


@pytest.mark.parametrize("name", ["--K-05 K-05K-05", "5-5 K", "5-6-7 Ann Ox"])
def test_a_name_whose_words_a_hyphen_joins_is_found_whatever_its_first_word_is(name: str) -> None:
    joined = name.replace(" ", "-")
    assert list(Names({name: NOBODY}).foreign_in(f"as {joined} said", "K-07")) == [(3, 3 + len(joined))]


def test_a_name_that_two_engines_bear_is_foreign_to_both() -> None:
    names = Names({"The hill car": frozenset({"K-05"}) & frozenset({"K-07"})})
    assert list(names.foreign_in("as the hill car did", "K-05")) == [(3, 15)]


def test_an_engine_s_own_name_and_a_serial_that_was_in_it_are_not_foreign() -> None:
    names = Names({"K-05": frozenset({"K-05"}), "RB-1": frozenset({"K-05", "K-07"})})
    assert list(names.foreign_in("RB-1 came out of K-05", "K-05")) == []
    assert list(names.foreign_in("RB-1 came out of K-05", "K-07")) == [(17, 21)]


@pytest.mark.parametrize(
    "text",
    [
        "seen by Owner  Number1x and Ann\n  Ox",
        "as K-05-spare, pre-K-05 and K\u201105 were, (K\u201005)",
        "K-05-K-05",
    ],
)
def test_neither_blanks_nor_hyphens_hide_a_name(text: str) -> None:
    names = Names(dict.fromkeys(("K-05", "Ann Ox", "Owner Number1x"), NOBODY))
    for start, end in reversed(list(names.foreign_in(text, "K-07"))):
        text = text[:start] + "▒" + text[end:]
    assert not re.search("K.05|Ann|Ox|Number", text)


def test_a_hyphen_is_a_letter_of_a_plain_word_and_of_a_number() -> None:
    names = Names(dict.fromkeys(("rotor", "07", "Ann"), NOBODY))
    assert list(names.foreign_in("rotor-bearing-2 on 2026-10-07, said Ann-Marie", "K-07")) == []


def test_an_id_that_readers_may_know_hides_none_of_its_pieces() -> None:
    names = Names({"AS-31": NOBODY, "AS-31-b": frozenset({"K-07"})})
    assert list(names.foreign_in("AS-31-b beside AS-31", "K-07")) == [(15, 20)]


# What reads alike is one name: Unicode Standard Annex 15 (compatibility decomposition) and full case folding (The
# Unicode Standard, 3.13); the dashes and apostrophes are those that telephones and word processors put in unasked.
@pytest.mark.parametrize(
    ("name", "spellings"),
    [
        (
            "J\u00f6rg Wei\u00df",
            [
                "J\u00d6RG WEISS",
                "Jo\u0308rg Wei\u00df",
                "J\u00f6rg\u200b Wei\u00df",
                "J\u00f6rg-Wei\u00df",
                "j\u00f6rg\nweiss",
            ],
        ),
        ("JO\u0308RG", ["J\u00f6rg", "j\u00f6rg"]),
        ("Stra\u00dfer", ["STRASSER", "Stra\u00dfer"]),
        ("O'Connell", ["O\u2019Connell", "O\u02bcConnell", "o\u2018connell"]),
        ("Zoe\u0301 Prat", ["Zo\u00e9 Prat", "ZO\u00c9 PRAT"]),
        ("\u5c71\u7530", ["\u5c71\u7530\u3055\u3093", "\u3053\u306e\u5c71\u7530"]),
        (
            "E-02",
            ["E-02_spare", "spare_E-02", "E\u201302", "E\u221202", "E\u00ad-02", "\uff25-\uff10\uff12", "e\u201102"],
        ),
        ("EX_05", ["EX-05", "ex_05", "EX_05_a.jpg"]),
    ],
)
def test_a_name_is_found_in_every_spelling_that_reads_alike(name: str, spellings: list[str]) -> None:
    names = hidden([name])
    for spelling in spellings:
        text = f"said \u201c{spelling}\u201d today"
        found = [text[start:end] for start, end in names.foreign_in(text, "K-07")]
        assert len(found) == 1, spelling
        assert found[0] in spelling
        left = text.replace(found[0], "")
        assert not list(names.foreign_in(left, "K-07"))


@pytest.mark.parametrize("text", ["E-021", "E-02b", "AE-02", "Jorgen", "Strassers", "caf\u00e9", "\u5c71\u5ddd"])
def test_what_only_looks_like_a_name_stays(text: str) -> None:
    assert list(hidden(["E-02", "J\u00f6rg", "Stra\u00dfer", "Cafe", "\u5c71\u7530"]).foreign_in(text, "K-07")) == []


def test_a_name_is_known_again_however_it_is_spelt() -> None:
    names = Names({"Ann Öx": NOBODY, "K_05": NOBODY})
    assert [names.spell(one) for one in ("ANN O\u0308X", "k-05", "Ann", "K-051")] == [True, True, False, False]
