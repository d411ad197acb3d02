"""Parts of a small engine, made by hand: a bearing with its readings, a clearance, a set of seals that nobody measured.

Words are chosen to be unpleasant: they hold what HTML, Markdown and a template would act upon.
"""

from datetime import date
from functools import cache
from typing import Literal

from msgspec.structs import replace

from engine_pages.history.story import (
    DimensionStory,
    DueStory,
    FoundStory,
    GradeStory,
    PartStory,
    PhotoStory,
    ReadingStory,
    SheetRef,
    Stay,
)
from engine_pages.records.source import Source
from engine_pages.wear.exposure import Exposure
from engine_pages.wear.limits import Allowance, Limit
from engine_pages.wear.measured import Measured
from engine_pages.wear.pool.fit import fit_pool
from engine_pages.wear.pool.numbers import PoolPart
from engine_pages.wear.pool.priors import Frame

NASTY = '2 < 3 & "so" *it* _is_ {{ said }} <script>alert(1)</script>'
FOLDER = "engines/K-07"


def source(path: str, line: int) -> Source:
    return Source(f"{FOLDER}/{path}", line, 1)


def sheet_ref(kind: Literal["build", "teardown"], name: str, label: str) -> SheetRef:
    folder = {"build": f"builds/{name}.yml", "teardown": f"teardowns/{name}/teardown.yml"}[kind]
    return SheetRef(kind, "K-07", name, label, date.fromisoformat(name), f"{FOLDER}/{folder}")


BUILD = sheet_ref("build", "2025-02-20", "Build 2025-02-20")
FIRST_STRIP = sheet_ref("teardown", "2025-11-03", "T-0388")
LAST_STRIP = sheet_ref("teardown", "2026-10-12", "T-0412")


def reading(sheet: SheetRef, value: float, hours: float, u: float = 0.0012) -> ReadingStory:
    return ReadingStory(
        day=sheet.day,
        sheet=sheet,
        written=f"{value:.3f}",
        kind="gauge",
        value=value,
        value_20c=value,
        u=u,
        low=value - 1.645 * u,
        high=value + 1.645 * u,
        exposure=hours,
        part_hours=hours,
        baseline=0,
        verdict="within",
        station=None,
        instrument="bore-50-100",
        gauge_assumed=False,
        temperature=21.0,
        corrected=True,
        repeats=1,
        decimals=3,
        change=None,
        change_u=None,
        source=Source(sheet.path, 14, 27),
        slot="rotor-bearing-2",
    )


@cache  # a value that nobody changes: fitting it anew for every engine of every test took most of their time
def bore() -> DimensionStory:
    """A bore of three readings that wears 0.9 µm/h toward 60.105 mm."""
    read = (
        reading(BUILD, 60.051, 0.0),
        replace(reading(FIRST_STRIP, 60.070, 21.0), change=0.019, change_u=0.0028),
        replace(reading(LAST_STRIP, 60.087, 40.1), change=0.017, change_u=0.0028),
    )
    readings = tuple((x, Measured(one.value or 0.0, 1.44e-6)) for x, one in zip((0.0, 21.0, 40.1), read, strict=True))
    fit = fit_pool([PoolPart("RB-1041", readings, 60.051)], Frame(0.02, 0.054, 80.0))
    assert fit is not None
    line = fit.lines["RB-1041"]
    limit = Limit(max=60.105)
    points = []
    for step in range(25):
        x = step * 2.9
        band = line.interval(x, 0.9)
        points.append((x, band.value, band.low, band.high))
    return DimensionStory(
        id="inside_diameter",
        name="Inside diameter",
        unit="mm",
        decimals=3,
        limit=limit,
        limit_source="Shop limits sheet, revision 4, line 12",
        limit_where=Source("families/twin-rotor.yml", 31, 9),
        new=(60.040, 60.060),
        wears="up",
        state="within",
        readings=read,
        baseline=60.051,
        baseline_from="reading",
        baseline_number=0,
        baseline_why=None,
        allowance=Allowance(0.667, 0.63, 0.70, "max"),
        forecast=0.91,
        line=line,
        rate=line.rate(0.9),
        to_limit=line.to_limit(limit, 0.9),
        chance=0.82,
        parts_in_fit=1,
        exposure_unit="hours",
        now=42.2,
        at_plan_end=56.8,
        line_points=tuple(points),
    )


def unmeasured(name: str, limit: Limit) -> DimensionStory:
    """A dimension with a limit and no reading."""
    return replace(
        bore(),
        id=name.lower().replace(" ", "_"),
        name=name,
        limit=limit,
        new=None,
        state="not measured",
        readings=(),
        baseline=None,
        baseline_from="unknown",
        allowance=None,
        forecast=None,
        line=None,
        rate=None,
        to_limit=None,
        chance=None,
        line_points=(),
    )


def clearance() -> DimensionStory:
    """A clearance between two limits, read by feeler as a range."""
    read = replace(
        reading(LAST_STRIP, 0.065, 40.1),
        kind="range",
        low=0.06,
        high=0.07,
        decimals=2,
        written="0.06..0.07",
        instrument=None,
    )
    return replace(
        bore(),
        id="rotor-bearing-clearance-2",
        name="Clearance",
        decimals=2,
        limit=Limit(min=0.04, max=0.10),
        new=(0.04, 0.06),
        readings=(read,),
        baseline=0.05,
        allowance=Allowance(0.3, 0.2, 0.4, "max"),
        forecast=0.5,
        line=None,
        rate=None,
        to_limit=None,
        chance=None,
        line_points=(),
    )


PHOTO = PhotoStory(
    path=f"{FOLDER}/teardowns/2026-10-12/rb2.jpg",
    view="loaded side",
    caption=NASTY,
    crew_only=False,
    taken=None,
    slot="rotor-bearing-2",
    slot_name="Rotor bearing 2",
    number=1,
    present=True,
    source=Source(LAST_STRIP.path, 18, 9),
)

FOUND = FoundStory(
    key="rotor-bearing-2",
    slot_name="Rotor bearing 2",
    parts=("RB-1042",),
    kind="Rotor bearing",
    row=2,
    grades=(GradeStory("overlay", 3, "through on 10 to 50 %", Source(LAST_STRIP.path, 16, 5)),),
    finding=NASTY,
    decision="reuse",
    because="precaution",
    why="one more half season, then out",
    photos=(PHOTO,),
    corrections=(),
    crew_note=None,
    part_hours=40.1,
    source=Source(LAST_STRIP.path, 13, 3),
)

REPLACE = DueStory(
    name="Rotor bearing 2, replace",
    what="replace",
    rule="every 60 h, 36 months",
    part="RB-1042",
    slot_name="Rotor bearing 2",
    since={"hours": 42.2, "months": 20.4},
    left={"hours": 17.8, "months": 15.6},
    due_on=date(2028, 2, 20),
    share=0.703,
    state="within",
    last=None,
    because=None,
    source=None,
)
OIL = DueStory(
    name="Oil",
    what="service",
    rule="every 5 h, 6 months",
    part=None,
    slot_name=None,
    since={"hours": 4.6, "months": 0.3},
    left={"hours": 0.4, "months": 5.7},
    due_on=date(2027, 4, 24),
    share=0.92,
    state="due",
    last=date(2026, 10, 24),
    because=None,
    source=source("log.yml", 40),
)


def bearing() -> PartStory:
    stays = (
        Stay(
            "RB-1042",
            "K-07",
            "rotor-bearing-2",
            "Rotor bearing 2",
            BUILD,
            FIRST_STRIP,
            BUILD.day,
            FIRST_STRIP.day,
            Exposure(hours=21.0),
        ),
        Stay(
            "RB-1042",
            "K-07",
            "rotor-bearing-2",
            "Rotor bearing 2",
            BUILD,
            None,
            date(2026, 3, 14),
            None,
            Exposure(hours=21.2),
        ),
    )
    return PartStory(
        id="RB-1042",
        named=True,
        kind="rotor-bearing",
        kind_name="Rotor bearing",
        engine="K-07",
        slot="rotor-bearing-2",
        slot_name="Rotor bearing 2",
        row=2,
        fitted_now=True,
        state="near limit",
        state_why="inside diameter",
        decision="reuse",
        because="precaution",
        decision_why="one more half season, then out",
        decided_on=LAST_STRIP,
        differs=None,
        origin="new",
        batch="24-C",
        note="Steel backed. **Keep.**",
        prior="known",
        taken_as_new=False,
        since_new=Exposure(hours=42.2, starts=50),
        since_fitted=Exposure(hours=21.2),
        stays=stays,
        dimensions=(bore(), unmeasured("Wall", Limit(min=1.9))),
        found=((LAST_STRIP, FOUND),),
        due=(REPLACE,),
        source=Source("parts/RB-1042.yml", 1, 9),
        path="parts/RB-1042.yml",
    )


def seal(member: str) -> PartStory:
    """A member of a set without a serial of its own, never measured."""
    stay = Stay(
        f"K-07.apex-seals-1-{member}.2025-02-20",
        "K-07",
        f"apex-seals-1/{member}",
        f"Apex seals 1, {member}",
        BUILD,
        None,
        BUILD.day,
        None,
        Exposure(hours=42.2),
    )
    return replace(
        bearing(),
        id=stay.part,
        named=False,
        kind="apex-seal",
        kind_name="Apex seal",
        slot=stay.slot,
        slot_name=stay.slot_name,
        row=1,
        state="not measured",
        state_why="no reading and no grade",
        decision=None,
        because=None,
        decision_why=None,
        decided_on=None,
        origin=None,
        batch=None,
        note=None,
        taken_as_new=True,
        stays=(stay,),
        dimensions=(unmeasured("Height", Limit(min=7.5)),),
        found=(),
        due=(),
        source=None,
        path=None,
    )
