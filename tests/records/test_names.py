"""Names are looked up word by word, and found as one pattern of all of them would find them."""

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from engine_pages.records.names import NOBODY, Names

PIECES = st.sampled_from(
    ["K-05", "k-05", "Ann", "ann ox", "+49 3", "ß", "ſs", "İi", "ıI", "-", " ", ".", "5", "Ox)", "K"]
)
TEXTS = st.lists(PIECES, max_size=8).map("".join)


def by_one_pattern(names: list[str], text: str) -> list[tuple[int, int]]:
    words = sorted({re.escape(one) for one in names if len(one) > 1}, key=lambda one: (-len(one), one))
    if not words:
        return []
    pattern = re.compile(rf"(?<![\w-])(?:{'|'.join(words)})(?![\w-])", re.IGNORECASE)
    return [match.span() for match in pattern.finditer(text)]


@settings(max_examples=400, deadline=None)
@given(st.lists(TEXTS, max_size=5), TEXTS)
def test_names_are_found_as_one_pattern_of_all_would_find_them(names: list[str], text: str) -> None:
    assert list(Names(dict.fromkeys(names, NOBODY)).foreign_in(text, "K-07")) == by_one_pattern(names, text)


def test_a_name_that_two_engines_bear_is_foreign_to_both() -> None:
    names = Names({"The hill car": frozenset({"K-05"}) & frozenset({"K-07"})})
    assert list(names.foreign_in("as the hill car did", "K-05")) == [(3, 15)]


def test_an_engine_s_own_name_and_a_serial_that_was_in_it_are_not_foreign() -> None:
    names = Names({"K-05": frozenset({"K-05"}), "RB-1": frozenset({"K-05", "K-07"})})
    assert list(names.foreign_in("RB-1 came out of K-05", "K-05")) == []
    assert list(names.foreign_in("RB-1 came out of K-05", "K-07")) == [(17, 21)]
