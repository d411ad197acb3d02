"""Each point of a review: planted in a record in which nothing else is open, found at its place, settled, answered.

What is asked of a record follows what buyers of competition engines ask and what makes a seller's record credible:
common practice. The numbers beside the constants say where each comes from.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from engine_pages.review.point_kinds import POINT_KINDS

from .shop_for_review import BUILD, CLEAN, LOG, PHOTO, REBUILD, STRIP, clean_shop, open_points

NEXT = "engines/E1/inspections/2026-05-16.yml"
ANSWERS = "engines/E1/review.yml"


@dataclass(frozen=True)
class Planted:
    """What is written so that a point opens: where it must be found, what it must say, and what settles it."""

    kind: str
    where: str
    files: "Files"
    said: str
    settled: "Files | None" = None  # None: what was clean before
    at: str | None = None  # path:line of its source


FAMILY = "families/single.yml"
Files = Mapping[str, str | None]


def changed(path: str, old: str, new: str = "") -> Files:
    """A file of the clean shop with other words in it."""
    assert old in CLEAN[path]
    return {path: CLEAN[path].replace(old, new)}


def look(positions: str, more: str = "") -> Files:
    """An inspection after the last build."""
    head = f"engine: E1\ndate: 2026-05-16\nby: RK\ntemperature: 20\npositions: {{{positions}}}\n"
    return {NEXT: head + more}


MEASURED_SEAL = changed(FAMILY, "seal: {observe: [chipping]}", "seal: {dimensions: {height: {unit: mm, wears: down}}}")
NO_GRADE = changed(STRIP, "observed: {chipping: 1}, ")  # of a seal that is measured and not graded


def heights(*read: str) -> Files:
    read_now = look(f"seal: {{measured: {{height: {{{', '.join(f'a{n}: {one}' for n, one in enumerate(read, 1))}}}}}}}")
    return {**read_now, **MEASURED_SEAL, **NO_GRADE}


def counter(path: str, hours: str) -> Files:
    return changed(path, "by: RK\n", f"by: RK\n        counter: {hours} h\n")


SCORED = changed(FAMILY, "serial: yes", "serial: yes\n            observe: [scoring]")  # bearings are graded too
WIDTHS = ", ".join(f"w{n}: {{unit: mm, wears: down}}" for n in range(1, 8))
SEVEN = changed(FAMILY, "rotor: {observe: [scoring]}", f"rotor: {{observe: [scoring], dimensions: {{{WIDTHS}}}}}")
INCIDENT = {LOG: CLEAN[LOG] + "- {date: 2026-05-14, kind: incident, what: over_rev, peak_rpm: 9900}\n"}
SPENT = CLEAN[LOG].replace("hours: 1.5", "hours: 21")
UNMEASURED = {
    **changed(BUILD, ", measured: {inside: 60.011}"),
    **changed(STRIP, "measured: {inside: 60.023}, "),
}
RENEWED = {
    "engines/E1/builds/2026-05-23.yml": CLEAN[REBUILD]
    .replace("2026-05-09", "2026-05-23")
    .replace("{part: B-1}", "{part: B-2, measured: {inside: 60.010}, photos: [{file: new.jpg}]}"),
    "parts/B-2.yml": "serial: B-2\nkind: bearing\norigin: new\n",
}
BY_THE_COUNTER = {LOG: "[]\n", **counter(BUILD, "10.0"), **counter(STRIP, "13.5")}
RAN_BACK = {**counter(BUILD, "10.0"), **look("bearing: {measured: {inside: 60.024}}", "counter: 4.0 h\n")}
ROUND = ", ".join(f"w{n}: 5.{n}5" for n in range(1, 8))
LEAK_DOWN = {NEXT: "engine: E1\ndate: 2026-05-16\nby: RK\ntests: {leak_down: {rotor-1: [6, 7, 6]}}\n"}
USED = "serial: B-1\nkind: bearing\norigin: used\nprior: "
SHEET, FIRST, SECOND = "inspections/2026-05-16.yml", "builds/2026-03-07.yml", "builds/2026-05-09.yml"
ALL_0 = (
    "seal: {observed: {chipping: {a1: 0, a2: 0, a3: 0, a4: 0}}}, rotor-1: {observed: {scoring: 0}}, "
    "bearing: {observed: {scoring: 0}}"
)
GAUGELESS = changed(FAMILY, ", instrument: bore")
PLANTED = [
    Planted("beyond-limit", "bearing", look("bearing: {measured: {inside: 60.110}}"),
            "Bearing: inside 60.110 mm, limit max 60.100 mm", RENEWED),
    Planted("overdue", "oil", {LOG: SPENT}, "Oil, overdue by 3.0 hours",
            {LOG: SPENT + "- {date: 2026-05-20, kind: service, did: [oil]}\n"}),
    Planted("incident", "over_rev.2026-05-14", INCIDENT, "over rev on 2026-05-14, and no inspection since",
            {**look("bearing: {observed: {scoring: 1}}"), **SCORED}),
    Planted("against-verdict", "bearing", look("bearing: {measured: {inside: 60.099}, decision: reuse}"),
            "limits say undecided (inside); the builder decided reuse",
            look("bearing: {measured: {inside: 60.099}, decision: reuse, why: Two rounds and out.}")),
    Planted("record-gone", "teardowns/2026-05-02/teardown.yml", {STRIP: None},
            "recorded on 2026-05-03, and taken out on 2026-05-17"),
    Planted("photo-exchanged", "photos", {PHOTO: "another"},
            "builds/2026-03-07.yml: a photo of bearing was exchanged on 2026-05-17, and nothing says why",
            changed(BUILD, "view: whole}", "view: whole, caption: After cleaning; the first was blurred.}"),
            at=f"{BUILD}:6"),
    Planted("no-decision", "teardowns/2026-05-02/teardown.yml", changed(STRIP, ", decision: replace, because: hours"),
            "Teardown 2026-05-02: no decision is written for Seal"),
    Planted("counter-backward", SHEET, RAN_BACK, "the counter runs backward: 4 h after 10 h", {NEXT: None}),
    Planted("log-gap", "teardowns/2026-05-02/teardown.yml", BY_THE_COUNTER, "3.5 h are known from the counter alone",
            {LOG: CLEAN[LOG]}),
    Planted("hours-unwritten", "log.yml", changed(LOG, ", hours: 1.5"), "no hours are written for one run"),
    Planted("unknown-life", "bearing", {"parts/B-1.yml": f"{USED}unknown\n"}, "Bearing: life before is unknown",
            {"parts/B-1.yml": USED + "{hours: 12}\n"}),
    Planted("not-measured", "bearing.inside", UNMEASURED, "Bearing: inside not measured",
            look("bearing: {measured: {inside: 60.03}}")),
    Planted("not-measured", "seal", {**MEASURED_SEAL, **NO_GRADE},
            "Seal, all 4: height, never measured; no limit is written", heights("8.52", "8.51", "8.52", "8.53")),
    Planted("no-limit", "limits", {**MEASURED_SEAL, **NO_GRADE},
            "no limit is written for seal height: 1 of 2 dimensions and clearances is not judged"),
    Planted("no-test", SECOND, changed(REBUILD, "tests: {compression: {rpm: 250, rotor-1: [800, 790, 810]}}"),
            "neither compression nor leak-down is written since Build 2026-05-09", LEAK_DOWN),
    Planted("no-fluid", "log.yml", changed(BUILD, "fluids: {oil: ester-15w50}"), "no oil is written"),
    Planted("no-build", "engine.yml", {BUILD: None, REBUILD: None}, "no build sheet is written",
            {BUILD: CLEAN[BUILD], REBUILD: CLEAN[REBUILD]}),
    Planted("no-stamp", "engine.yml", {"engines/E1/engine.yml": "engine: E1\nfamily: single\n"},
            "the number on the metal is not written"),
    Planted("unsigned", SECOND, changed(REBUILD, "by: RK"), "Build 2026-05-09: nobody signed it"),
    Planted("no-serial", "rotor-1", changed(FAMILY, "rotor: {observe", "rotor: {serial: yes, observe"),
            "Rotor 1: no serial is written", look("rotor-1: {part: R-1}")),
    Planted("no-limit-source", "bearing.inside", changed(FAMILY, "source: manual, instrument", "instrument"),
            "the limit max 60.100 mm has no source", at="families/single.yml:11"),
    Planted("no-gauge", FIRST, GAUGELESS, "Build 2026-03-07: no gauge is named for one reading"),
    Planted("no-temperature", FIRST, changed(BUILD, "temperature: 20"), "no temperature is written"),
    Planted("no-torque", SECOND, changed(REBUILD, "torque: {tension_bolt: 40 Nm}"), "no torque is written"),
    Planted("not-photographed", "bearing", changed(BUILD, ", photos: [{file: bearing.jpg, view: whole}]"),
            "Bearing: no photo", look("bearing: {photos: [{file: at-last.jpg}]}")),
    Planted("same-figures", SHEET, heights("8.52", "8.52", "8.52", "8.52"), "height reads 8.52 on all 4",
            heights("8.52", "8.51", "8.52", "8.53")),
    Planted("round-figures", SHEET,
            {**look(f"bearing: {{measured: {{inside: 60.025}}}}, rotor-1: {{measured: {{{ROUND}}}}}"), **SEVEN},
            "all 8 readings end in 0 or 5", {NEXT: None}),
    Planted("every-grade-0", SHEET, {**look(ALL_0), **SCORED}, "all 6 grades are 0", {NEXT: None}),
    Planted("doubt", SHEET, look("bearing: {measured: {inside: 66.024}}"), "is it the right line",
            look("bearing: {measured: {inside: 60.024}}")),
]  # fmt: skip


@pytest.fixture(params=PLANTED, ids=lambda one: f"{one.kind} {one.where}")
def planted(request: pytest.FixtureRequest) -> Planted:
    one: Planted = request.param
    return one


def test_nothing_is_open_in_a_record_that_lacks_nothing(tmp_path: Path) -> None:
    review = clean_shop(tmp_path / "shop").review()
    assert open_points(review) == {}
    assert review.is_ready


def test_a_point_is_found_where_it_was_planted_and_settled_by_a_record(planted: Planted, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop").write(planted.files).commit("2026-05-17")
    found = {(one.point.kind, one.point.where): one.point for one in shop.review().in_state("open")}
    assert (planted.kind, planted.where) in found
    point = found[planted.kind, planted.where]
    assert planted.said in point.what
    assert planted.at is None or (point.source is not None and point.source.line_text == planted.at)
    settled = planted.settled if planted.settled is not None else {path: CLEAN[path] for path in planted.files}
    shop.write(settled).commit("2026-05-24")
    assert (planted.kind, planted.where) not in open_points(shop.review())


def test_a_point_is_answered_in_words_that_are_signed_and_dated(planted: Planted, tmp_path: Path) -> None:
    line = f'answers: [{{point: {planted.kind}, where: "{planted.where}", answer: Known., by: RK, date: 2026-05-18}}]\n'
    shop = clean_shop(tmp_path / "shop").write({**planted.files, ANSWERS: line}).commit("2026-05-18")
    review = shop.review()
    assert (planted.kind, planted.where) not in open_points(review)
    answered = [(one.point.kind, one.written.text if one.written else "") for one in review.in_state("answered")]
    assert answered == [(planted.kind, "Known.")]
    assert review.unmatched == ()


def test_every_kind_of_point_is_planted_somewhere() -> None:
    elsewhere = {"figure-changed", "recorded-late", "not-committed", "no-trail", "photo-twice", "photo-missing"}
    assert {one.kind for one in PLANTED} | elsewhere == set(POINT_KINDS)


def test_one_picture_under_two_names_is_found_by_its_bytes(tmp_path: Path) -> None:
    again = look("rotor-1: {photos: [{file: rotor.jpg, view: flank}]}")
    shop = clean_shop(tmp_path / "shop").write(again)
    folder = shop.folder / "engines/E1"
    (folder / "inspections/2026-05-16/rotor.jpg").write_bytes((folder / "builds/2026-03-07/bearing.jpg").read_bytes())
    found = open_points(shop.commit("2026-05-17").review())
    assert list(found) == [("photo-twice", "inspections/2026-05-16.yml, rotor-1 1")]
    (what,) = found.values()
    assert "one picture stands for Bearing whole and for Rotor 1 flank" in what
    (folder / "inspections/2026-05-16/rotor.jpg").unlink()
    shop.write(look("rotor-1: {photos: [{file: rotor-itself.jpg, view: flank}]}"))
    assert open_points(shop.commit("2026-05-18").review()) == {}


def test_a_caption_that_names_the_other_place_says_that_one_picture_shows_both(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    folder = shop.folder / "engines/E1"
    for caption, kinds in (("On the bench.", {"photo-twice"}), ("The bearing, and the rotor behind it.", set())):
        shop.write(look(f'rotor-1: {{photos: [{{file: rotor.jpg, view: flank, caption: "{caption}"}}]}}'))
        picture = (folder / "builds/2026-03-07/bearing.jpg").read_bytes()
        (folder / "inspections/2026-05-16/rotor.jpg").write_bytes(picture)
        found = open_points(shop.commit("2026-05-17").review())
        assert {kind for kind, _ in found} == kinds


def test_one_picture_of_one_place_on_two_days_is_settled_by_no_caption(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    folder = shop.folder / "engines/E1"
    shop.write(look('bearing: {photos: [{file: again.jpg, caption: "Bearing, as clean as before."}]}'))
    (folder / "inspections/2026-05-16/again.jpg").write_bytes((folder / "builds/2026-03-07/bearing.jpg").read_bytes())
    assert {kind for kind, _ in open_points(shop.commit("2026-05-17").review())} == {"photo-twice"}
