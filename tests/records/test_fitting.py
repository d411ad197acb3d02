"""What stood where: every part's stays, across engines and days, from the sheets of the whole shop."""

from datetime import date

import pytest
from written_shop import Written

from engine_pages.records.checks.all import read_checked
from engine_pages.records.checks.checked import Checked

FAMILY = """\
family: twin
architecture: rotary
exposure: hours
positions: {rotor-1: rotor, bearing-1: bearing, bearing-2: bearing, seals-1: {kind: seal, names: [a1, a2]}}
kinds: {rotor: , bearing: {dimensions: {bore: {unit: mm}}}, seal: }
"""
FOLDERS = {"build": "builds", "inspection": "inspections", "teardown": "teardowns"}


def _shop(written: str, family: str = FAMILY, **parts: str) -> Checked:
    """A shop in short, one a line: `engine kind date[ time] | the sheet's keys`, or `engine run date[ time]`."""
    files, logs = Written({"families/twin.yml": family.encode()}), dict[str, str]()
    for line in written.strip().splitlines():
        head, _, body = line.strip().partition(" | ")
        engine, kind, when = head.split(" ", 2)
        logs.setdefault(engine, "")
        if kind == "run":
            logs[engine] += f"- {{date: {when}, kind: run, hours: 1}}\n"
            continue
        name = day = when.split(" ")[0]
        while any(f"engines/{engine}/{FOLDERS[kind]}/{name}" in path for path in files):
            name = f"{day}-2"
        path = f"{FOLDERS[kind]}/{name}/teardown.yml" if kind == "teardown" else f"{FOLDERS[kind]}/{name}.yml"
        rest = body.replace("; ", "\n")
        files[f"engines/{engine}/{path}"] = f"engine: {engine}\ndate: {when}\n{rest}\n".encode()
    for engine, log in logs.items():
        files[f"engines/{engine}/engine.yml"] = f"engine: {engine}\nfamily: twin\n".encode()
        files[f"engines/{engine}/log.yml"] = log.encode()
    for serial, text in parts.items():
        files[f"parts/{serial}.yml"] = f"serial: {serial}\n{text}\n".encode()
    return read_checked(files, date(2030, 1, 1))


def _stays(shop: Checked, part: str) -> list[str]:
    """Each stay of a part: engine, slot, the days it began and ended, and how it left."""
    told = []
    for stay in shop.fitting.stays:
        if stay.part.id == part:
            began = date.fromordinal(stay.began[0])
            ended = date.fromordinal(stay.ended[0]) if stay.ended else "…"
            told.append(f"{stay.engine} {stay.slot.id} {began} {ended} {stay.decision or '-'}")
    return told


def _says(shop: Checked, level: str) -> list[str]:
    return [problem.message for problem in shop.problems if problem.level == level]


def test_a_part_stays_from_its_build_to_its_teardown() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 run 2026-03-01
        K-1 teardown 2026-04-01 | positions: {bearing-1: {part: B1, decision: reuse}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-04-01 reuse"]
    assert shop.fitting.seen["engines/K-1/teardowns/2026-04-01/teardown.yml", "bearing-1"].part.id == "B1"


def test_engines_whose_names_begin_alike_are_two() -> None:
    shop = _shop("""
        E1 build 2026-02-01 | positions: {bearing-1: {part: B1}, rotor-1: }
        E12 build 2026-02-01 | positions: {bearing-1: {part: B12}, rotor-1: }
        E1 teardown 2026-04-01 | positions: {bearing-1: {decision: retire}}
        E12 run 2026-05-01
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["E1 bearing-1 2026-02-01 2026-04-01 retire"]
    assert _stays(shop, "B12") == ["E12 bearing-1 2026-02-01 … -"]
    assert {"E1.rotor-1.1", "E12.rotor-1.1"} <= set(shop.fitting.parts)


def test_a_part_moves_from_engine_to_engine_and_on() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-2 build 2026-04-01 | positions: {bearing-2: {part: B1}}
        K-2 teardown 2026-05-01 | positions: {bearing-2: {decision: reuse}}
        K-3 build 2026-06-01 | positions: {bearing-1: {part: B1}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == [
        "K-1 bearing-1 2026-02-01 2026-03-01 reuse",
        "K-2 bearing-2 2026-04-01 2026-05-01 reuse",
        "K-3 bearing-1 2026-06-01 … -",
    ]


@pytest.mark.parametrize("one", ["K-1", "K-3"])
def test_a_part_is_taken_out_of_one_engine_and_into_another_on_one_day(one: str) -> None:
    """Without times a build comes first on its day; the strip of that day in the other engine is looked for."""
    shop = _shop(f"""
        {one} build 2026-02-01 | positions: {{bearing-1: {{part: B1}}}}
        {one} run 2026-03-01
        {one} teardown 2026-03-01 | positions: {{bearing-1: {{part: B1, decision: reuse, measured: {{bore: 60.1}}}}}}
        K-2 build 2026-03-01 | positions: {{bearing-2: {{part: B1}}}}
        K-2 run 2026-03-01
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == [f"{one} bearing-1 2026-02-01 2026-03-01 reuse", "K-2 bearing-2 2026-03-01 … -"]
    first = shop.fitting.stays[0]
    runs = [shop.orders[one].of_log(entry.line.date, entry.index) for entry in shop.shop.engines[one].log]
    assert first.ended is not None
    assert first.began < runs[0] < first.ended, "the runs of its last day count"
    assert shop.fitting.seen[f"engines/{one}/teardowns/2026-03-01/teardown.yml", "bearing-1"] is first


def test_a_part_moves_twice_on_one_day() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 08:00 | positions: {bearing-1: {decision: reuse}}
        K-2 build 2026-03-01 09:00 | positions: {bearing-1: {part: B1}}
        K-2 teardown 2026-03-01 14:00 | positions: {bearing-1: {decision: reuse}}
        K-3 build 2026-03-01 15:00 | positions: {bearing-1: {part: B1}}
    """)
    assert shop.problems == ()
    assert [stay.split()[0] for stay in _stays(shop, "B1")] == ["K-1", "K-2", "K-3"]


def test_parts_of_two_engines_change_places_on_one_day() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-2 build 2026-02-01 | positions: {bearing-1: {part: B2}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-2 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-1 build 2026-03-01 | positions: {bearing-1: {part: B2}}
        K-2 build 2026-03-01 | positions: {bearing-1: {part: B1}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1")[-1] == "K-2 bearing-1 2026-03-01 … -"
    assert _stays(shop, "B2")[-1] == "K-1 bearing-1 2026-03-01 … -"


def test_parts_change_places_in_a_build_with_no_teardown_sheet() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 build 2026-03-01 | positions: {bearing-1: {part: B2}, bearing-2: {part: B1}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 -", "K-1 bearing-2 2026-03-01 … -"]


def test_a_part_fitted_in_two_places_is_an_error() -> None:
    both = _shop("K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B1}}")
    assert ["two places" in message for message in _says(both, "error")] == [True]
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-2 build 2026-03-01 | positions: {bearing-1: {part: B1}}
    """)
    assert _says(shop, "error") == [
        "B1 is fitted in two places: it is in K-1, bearing-1, since 2026-02-01 (engines/K-1/builds/2026-02-01.yml)"
    ]


def test_a_strip_that_comes_too_late_in_the_day_does_not_free_a_part() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-2 build 2026-03-01 09:00 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 16:00 | positions: {rotor-1: }
    """)
    assert ["two places" in message for message in _says(shop, "error")] == [True]


def test_a_strip_that_did_not_open_its_place_does_not_free_a_part() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-2 build 2026-03-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | opened: [rotor-1]; positions: {rotor-1: }
    """)
    assert ["two places" in message for message in _says(shop, "error")] == [True]


def test_rest_as_before_puts_back_what_was_to_go_back() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {rotor-1: {part: R1}, bearing-1: {part: B1}, bearing-2: {part: B2}, seals-1: }
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: replace}, bearing-2: {decision: reuse}}
        K-1 build 2026-04-01 | rest: as before; positions: {bearing-1: {part: B3}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 replace"]
    assert [_stays(shop, part)[-1] for part in ("R1", "B2", "B3", "K-1.seals-1.a1.1")] == [
        "K-1 rotor-1 2026-04-01 … -",
        "K-1 bearing-2 2026-04-01 … -",
        "K-1 bearing-1 2026-04-01 … -",
        "K-1 seals-1/a1 2026-04-01 … -",
    ]


def test_rest_as_before_leaves_empty_what_is_in_another_engine_and_says_so() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-2 build 2026-03-15 | positions: {bearing-1: {part: B1}}
        K-1 build 2026-04-01 | rest: as before; positions: {rotor-1: }
    """)
    assert _says(shop, "doubt") == ["bearing-1 is left empty: B1 is in K-2, bearing-1"]


def test_without_rest_as_before_what_is_not_named_stays_out() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-1 build 2026-04-01 | positions: {rotor-1: }
    """)
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 reuse"]


def test_a_bare_position_is_the_part_that_was_to_go_back_else_a_new_one() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: , bearing-2: }
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}, bearing-2: {decision: replace}}
        K-1 build 2026-04-01 | positions: {bearing-1: , bearing-2: }
    """)
    assert shop.problems == ()
    assert len(_stays(shop, "K-1.bearing-1.1")) == 2
    assert [_stays(shop, f"K-1.bearing-2.{number}") for number in (1, 2)] == [
        ["K-1 bearing-2 2026-02-01 2026-03-01 replace"],
        ["K-1 bearing-2 2026-04-01 … -"],
    ]


def test_a_set_is_written_whole_and_one_member_apart() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {seals-1: {part: {a1: S1}, origin: used}, seals-1/a2: {part: S2, origin: new}}
        K-1 teardown 2026-03-01 | positions: {seals-1: {decision: reuse}, seals-1/a2: {decision: retire}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "S1") == ["K-1 seals-1/a1 2026-02-01 2026-03-01 reuse"]
    assert _stays(shop, "S2") == ["K-1 seals-1/a2 2026-02-01 2026-03-01 retire"]
    assert [stay.origin for stay in shop.fitting.stays] == ["used", "new"]


def test_a_serial_read_for_the_first_time_names_the_part_from_the_start() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: }
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-1 build 2026-04-01 | positions: {bearing-1: }
        K-1 inspection 2026-05-01 | positions: {bearing-1: {part: B1}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 reuse", "K-1 bearing-1 2026-04-01 … -"]
    assert "K-1.bearing-1.1" not in shop.fitting.parts


def test_a_part_that_no_build_fitted_was_there_before_the_records() -> None:
    lines = "{bearing-1: {part: B1, decision: reuse}, bearing-2: {decision: reuse}, seals-1: {part: {a1: }}}"
    shop = _shop(f"K-1 teardown 2026-03-01 | positions: {lines}")
    assert shop.problems == ()
    assert [(stay.part.id, stay.fitted) for stay in shop.fitting.stays] == [("B1", None), ("K-1.bearing-2.1", None)]


def test_a_second_sheet_on_a_strip_speaks_of_the_same_parts() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: }
        K-1 teardown 2026-03-01 | positions: {bearing-1: {finding: dull}, bearing-2: }
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}, bearing-2: {part: B2, decision: rework}}
        K-1 inspection 2026-03-02 | positions: {bearing-1: {part: B1, measured: {bore: 60.06}}}
    """)
    assert shop.problems == ()
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 reuse"]
    assert _stays(shop, "B2") == ["K-1 bearing-2 2026-02-01 2026-03-01 rework"]


def test_runs_after_a_teardown_put_back_what_was_to_go_back_with_a_doubt() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {rotor-1: {part: R1}, bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}, bearing-2: {decision: replace}}
        K-1 run 2026-03-10
        K-1 run 2026-03-11
    """)
    assert ["no build sheet between" in message for message in _says(shop, "doubt")] == [True]
    assert _says(shop, "error") == []
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 2026-03-01 reuse", "K-1 bearing-1 2026-03-01 … -"]
    assert [stay.put_back_unwritten for stay in shop.fitting.stays if stay.part.id == "B1"] == [False, True]
    assert len(_stays(shop, "B2")) == len(_stays(shop, "R1")) == 1


def test_runs_put_back_nothing_that_an_earlier_build_left_out() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}, bearing-2: {decision: reuse}}
        K-1 build 2026-04-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-05-01 | positions: {bearing-1: {decision: reuse}}
        K-1 run 2026-05-10
    """)
    assert len(_stays(shop, "B1")) == 3
    assert _stays(shop, "B2") == ["K-1 bearing-2 2026-02-01 2026-03-01 reuse"]


def test_a_teardown_takes_out_what_it_opened_alone() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 teardown 2026-03-01 | opened: [bearing-2]; positions: {bearing-2: {decision: reuse}}
        K-1 run 2026-03-10
    """)
    assert _stays(shop, "B1") == ["K-1 bearing-1 2026-02-01 … -"]
    assert _stays(shop, "B2") == ["K-1 bearing-2 2026-02-01 2026-03-01 reuse", "K-1 bearing-2 2026-03-01 … -"]
    assert ["no build sheet between" in message for message in _says(shop, "doubt")] == [True]


@pytest.mark.parametrize(
    ("times", "stays"),
    [
        (("", ""), 1),  # the day's run counts before the teardown
        ((" 16:30", " 09:00"), 1),
        ((" 09:00", " 16:30"), 2),  # it ran after it was taken apart: put back, with a doubt
    ],
)
def test_a_sheet_on_the_day_of_a_run(times: tuple[str, str], stays: int) -> None:
    shop = _shop(f"""
        K-1 build 2026-02-01 | positions: {{bearing-1: {{part: B1}}}}
        K-1 teardown 2026-03-01{times[0]} | positions: {{bearing-1: {{decision: reuse}}}}
        K-1 run 2026-03-01{times[1]}
    """)
    assert len(_stays(shop, "B1")) == stays
    assert len(_says(shop, "doubt")) == stays - 1


def test_a_part_taken_out_where_it_never_was_is_an_error() -> None:
    other = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {part: B2}}
    """)
    assert _says(other, "error") == [
        "B2 is taken out where it never was: B1 was fitted in bearing-1 by engines/K-1/builds/2026-02-01.yml"
    ]
    elsewhere = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-2 teardown 2026-04-01 | positions: {bearing-2: {part: B1}}
    """)
    assert _says(elsewhere, "error") == [
        "B1 is taken out where it never was: it was in K-1, bearing-1, until 2026-03-01"
    ]


def test_a_part_that_was_retired_and_is_fitted_again_is_a_doubt() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: retire}}
        K-2 build 2026-04-01 | positions: {bearing-1: {part: B1}}
    """)
    assert _says(shop, "doubt") == [
        "B1 was retired on 2026-03-01 (engines/K-1/teardowns/2026-03-01/teardown.yml) and is fitted again"
    ]
    assert len(_stays(shop, "B1")) == 2


def test_a_part_that_was_to_be_replaced_and_is_fitted_again_is_a_doubt() -> None:
    shop = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: replace}, bearing-2: {decision: reuse}}
        K-1 build 2026-04-01 | positions: {bearing-1: {part: B1}, bearing-2: {part: B2}}
    """)
    assert [str(one) for one in shop.problems] == [
        "engines/K-1/builds/2026-04-01.yml:3:31: doubt: B1 was to be replaced by the strip of 2026-03-01, "
        "and is fitted again (engines/K-1/teardowns/2026-03-01/teardown.yml)"
    ]


def test_a_part_of_the_wrong_kind_is_an_error_by_its_file_and_by_its_past() -> None:
    by_file = _shop("K-1 build 2026-02-01 | positions: {rotor-1: {part: B1}}", B1="kind: bearing")
    assert _says(by_file, "error") == ["B1 is a bearing (parts/B1.yml); rotor-1 takes a rotor"]
    by_past = _shop("""
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-1 build 2026-04-01 | positions: {rotor-1: {part: B1}}
    """)
    assert _says(by_past, "error") == ["B1 is a bearing; rotor-1 takes a rotor"]


def test_what_is_assembled_as_a_whole_is_new_at_every_build() -> None:
    family = FAMILY.replace("kinds: {", "kinds: {assembled: {whole: yes, dimensions: {end_play: {unit: mm}}}, ")
    shop = _shop(
        """
        K-1 build 2026-02-01 | positions: {bearing-1: {part: B1}, engine: {measured: {end_play: 0.05}}}
        K-1 inspection 2026-02-15 | positions: {engine: {measured: {end_play: 0.06}}}
        K-1 teardown 2026-03-01 | positions: {bearing-1: {decision: reuse}}
        K-1 build 2026-04-01 | rest: as before; positions: {rotor-1: }
        """,
        family.replace("positions: {", "positions: {engine: assembled, "),
    )
    assert shop.problems == ()
    assert [_stays(shop, f"K-1.engine.{number}") for number in (1, 2)] == [
        ["K-1 engine 2026-02-01 2026-03-01 -"],
        ["K-1 engine 2026-04-01 … -"],
    ]
