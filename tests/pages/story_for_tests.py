"""A small shop's story made by hand: one two-rotor engine, two strips, a build, a log, a plan, a draft that waits."""

from datetime import date

from msgspec.structs import replace

from engine_pages.history.story import (
    ChamberReading,
    EngineStory,
    FitStory,
    FluidSpan,
    FoundStory,
    Gap,
    IncidentStory,
    LimitRow,
    LogStory,
    MapCell,
    MapRow,
    MeasuredRow,
    PlannedEvent,
    SheetRef,
    SheetStory,
    ShopStory,
    Stopper,
    TestStory,
)
from engine_pages.records.source import Problem, Source
from engine_pages.wear.exposure import Exposure
from engine_pages.wear.limits import Limit

from .parts_for_tests import (
    BUILD,
    FIRST_STRIP,
    FOUND,
    LAST_STRIP,
    NASTY,
    OIL,
    REPLACE,
    bearing,
    clearance,
    seal,
    source,
)


def sheet(ref: SheetRef, *, measured: tuple[MeasuredRow, ...] = (), found: tuple[FoundStory, ...] = ()) -> SheetStory:
    return SheetStory(
        ref=ref,
        reason="planned",
        by="RK",
        clock=None,
        counter="40.1 h",
        temperature="21 °C",
        engine_hours=40.1,
        hours_since_build=19.1,
        note="Seen by the owner. <b>Loud</b> & *clear*.",
        crew_note=None,
        photos=(),
        found=found,
        measured=measured,
        fitted=(),
        tests=(),
        torque=(("main-caps", "68 Nm"),),
        fluids=(("oil", "ester-15w50"),),
        work=(("CS-88", "ground, -0.25 mm: main_journal_1", Source(ref.path, 60, 3)),),
        corrections=(),
        not_looked_at=("Side seals 2",),
        commit="9c03e7d5b1",
        committed=date(2026, 10, 12),
        uncommitted=False,
        source=Source(ref.path, 2, 1),
    )


COMPRESSION = TestStory(
    test="compression",
    name="Compression",
    unit="kPa",
    sheet=LAST_STRIP,
    rpm=262.0,
    at_rpm=250.0,
    faces_marked=True,
    rows=(
        (
            "rotor-1",
            "Rotor 1",
            (ChamberReading(1, "812", 812.0, 802.0, "within"), ChamberReading(2, "806", 806.0, 796.0, "within")),
        ),
    ),
    spread_chambers=6.0,
    spread_rows=None,
    limit=Limit(min=680.0),
    limit_source="Shop limits sheet",
    spread_limits=(150.0, 100.0),
    state="within",
    why="",
    source=Source(LAST_STRIP.path, 70, 3),
)


def engine() -> EngineStory:
    part, seals = bearing(), tuple(seal(member) for member in ("a1", "a2", "a3"))
    dimension = part.dimensions[0]
    row = MeasuredRow(
        slot="rotor-bearing-2",
        slot_name="Rotor bearing 2",
        part="RB-1042",
        dimension=dimension,
        reading=dimension.readings[2],
        before=dimension.readings[1],
        allowance=dimension.allowance,
        state="near limit",
        decision="reuse",
    )
    fit = FitStory(
        "rotor-bearing-clearance-2", "Rotor bearing clearance", ("RB-1042", "ES-19"), 2, clearance(), "within"
    )
    sheets = (
        replace(sheet(BUILD), fitted=part.stays[:1], work=()),
        sheet(FIRST_STRIP),
        replace(sheet(LAST_STRIP, measured=(row,), found=(FOUND,)), tests=(COMPRESSION,)),
    )
    problems = (
        Problem(source("log.yml", 12), "doubt", f"a run with no hours, {NASTY}"),
        Problem(Source(LAST_STRIP.path, 14, 27), "doubt", "a bore that grew back"),
    )
    return EngineStory(
        id="K-07",
        name=NASTY,
        family="twin-rotor",
        family_name="Twin-rotor 1.3 litre",
        architecture="rotary",
        rows=2,
        use="hill climb",
        stamped=None,
        built_for=None,
        picture=None,
        state="near limit",
        as_of=date(2026, 11, 2),
        commit="4f2a91c0ffee",
        uncommitted=(),
        confidence=0.9,
        exposure_unit="hours",
        total=Exposure(hours=42.2, starts=58),
        since_build=Exposure(hours=2.1),
        built=BUILD,
        last_teardown=LAST_STRIP,
        assembled=True,
        parts=(part, *seals),
        former_parts=(),
        fits=(fit,),
        engine_map=(
            MapRow("rotor-bearing", "Rotor bearing", "Inside diameter", (MapCell(1, ()), MapCell(2, (part,))), False),
            MapRow("apex-seal", "Apex seal", "Height", (MapCell(1, seals), MapCell(2, ())), False),
            MapRow(
                "fit:Rotor bearing clearance",
                "Rotor bearing clearance",
                None,
                (MapCell(1, ()), MapCell(2, (), (fit,))),
                False,
            ),
            MapRow("shaft", "Eccentric shaft", None, (MapCell(None, ()),), True),
        ),
        shortlist=(
            Stopper(
                "RB-1042", "Rotor bearing 2", "Inside diameter", "near limit", 0.667, dimension, None, 11.3, 17.0, 28.4
            ),
            Stopper("RB-1042", "Rotor bearing 2", "replace", "within", 0.703, None, REPLACE, 17.8, 17.8, 17.8),
        ),
        due=(OIL, REPLACE),
        tests=(COMPRESSION,),
        tests_now=(COMPRESSION,),
        sheets=sheets,
        log=(
            LogStory(
                date(2025, 3, 1),
                None,
                "run",
                "dyno",
                Exposure(hours=2.4, starts=3, runs=1),
                2.4,
                (("peak rpm", "9400"),),
                (),
                NASTY,
                source("log.yml", 3),
            ),
            LogStory(
                date(2026, 5, 31),
                "16:30",
                "incident",
                "over_rev",
                Exposure(),
                30.6,
                (),
                (),
                None,
                source("log.yml", 20),
            ),
        ),
        fluids=(
            FluidSpan(
                "oil", "mineral 10W-60", BUILD.day, date(2026, 3, 14), 21.0, 0.0, source("builds/2025-02-20.yml", 40)
            ),
            FluidSpan("oil", "ester 15W-50", date(2026, 3, 14), None, 21.2, 21.0, source("log.yml", 15)),
        ),
        incidents=(
            IncidentStory(date(2026, 5, 31), "over_rev", "10 400 rpm", 30.6, LAST_STRIP, source("log.yml", 20)),
        ),
        plan=(PlannedEvent(date(2027, 4, 18), "Round 1", Exposure(hours=14.6, runs=1), source("plan.yml", 2)),),
        keep=0.9,
        gaps=(
            Gap("Apex seals 1, a1: height not measured", "not measured", Source("families/twin-rotor.yml", 50, 9)),
            Gap("a run with no hours", "doubt", source("log.yml", 12)),
        ),
        limits=(
            LimitRow(
                "Rotor bearing",
                "Inside diameter",
                "mm",
                "60.040 to 60.060",
                "max 60.105",
                "Shop limits sheet",
                Source("families/twin-rotor.yml", 31, 9),
            ),
        ),
        grades=(("overlay", ((0, "run in only"), (1, "light scratches"))),),
        instruments=(("bore-50-100", "Bore gauge", "2026-01-15"),),
        problems=problems,
        units=("mm", "in"),
        people={"RK": "R. Kalverd"},
    )


def shop() -> ShopStory:
    """The shop with its one engine."""
    told = engine()
    return ShopStory(
        name=f"Ostrand Row {NASTY}",
        engines=(told,),
        parts=told.parts,
        problems=told.problems,
        inbox=("inbox/2026-10-30-phone.zip",),
        as_of=date(2026, 11, 2),
        commit="4f2a91c0ffee",
    )
