"""An engine with a plan, for the tests of the season: two bearings, a pump, a seal with an interval; and questions."""

from datetime import date

from engine_pages.history.season_asked import Asked, ask_season
from engine_pages.history.story import SeasonStory
from engine_pages.records.checks.all import read_checked

from .shop_for_tests import TODAY, engine, texts, told

FAMILY = """
    family: single
    architecture: rotary
    exposure: hours
    positions: {bearing-1: bearing, bearing-2: bearing, pump: pump, seal: seal}
    kinds:
      bearing:
        serial: yes
        service: {replace: {hours: 120}}
        dimensions: {inside: {unit: mm, wears: up, new: [60.040, 60.060], limit: {max: 60.105}, instrument: mic}}
      pump: {dimensions: {tip: {unit: mm, wears: up, limit: {max: 0.15}, instrument: mic}}}
      seal: {service: {replace: {hours: 40}}}
    services: {oil: {hours: 33}}
"""
SHOP = "instruments: {mic: {resolution: 0.001 mm, repeat: 0.001 mm, zero: 0.0005 mm}}\n"


def shop(plan: str, first: float = 60.068, second: float = 60.067, decision: str = "reuse") -> dict[str, str]:
    """Two bearings after 20 and 30 h, 1 µm worn each hour or so, a pump never measured, a seal with an interval."""

    def read(one: float, other: float, more: str = "") -> str:
        return (
            f"  bearing-1: {{part: B-1, measured: {{inside: {one:.3f}}}{more}}}\n"
            f"  bearing-2: {{part: B-2, measured: {{inside: {other:.3f}}}, decision: {decision}}}\n"
        )

    again = ", decision: reuse"
    rest = "  pump: {part: P-1, decision: reuse}\n  seal: {part: S-1, decision: reuse}\n"
    new = read(60.050, 60.049).replace(f", decision: {decision}", "")
    fitted = rest.replace(", decision: reuse", "")
    return {
        "shop.yml": SHOP,
        "families/single.yml": FAMILY,
        "engines/E1/builds/2026-01-01.yml": f"engine: E1\ndate: 2026-01-01\npositions:\n{new}{fitted}",
        "engines/E1/teardowns/2026-03-01/teardown.yml": (
            f"engine: E1\ndate: 2026-03-01\npositions:\n{read(60.059, 60.058, again).replace(decision, 'reuse')}{rest}"
        ),
        "engines/E1/builds/2026-03-02.yml": (
            "engine: E1\ndate: 2026-03-02\npositions: {bearing-1: , bearing-2: , pump: , seal: }\n"
        ),
        "engines/E1/teardowns/2026-06-01/teardown.yml": (
            f"engine: E1\ndate: 2026-06-01\npositions:\n{read(first, second, again)}{rest}"
        ),
        "engines/E1/log.yml": (
            "- {date: 2026-02-01, kind: run, hours: 10}\n- {date: 2026-05-01, kind: run, hours: 10}\n"
        ),
        "engines/E1/plan.yml": plan,
    }


def plan(*hours: float, keep: str = "keep: 0.90\n") -> str:
    events = "".join(
        f"  - {{date: 2027-0{n}-01, name: Round {n}, hours: {one}}}\n" for n, one in enumerate(hours, start=1)
    )
    return f"events:\n{events}{keep}"


def season(files: dict[str, str]) -> SeasonStory:
    found = engine(told(files, date(2026, 7, 1))).season
    assert found is not None
    return found


def asked(files: dict[str, str], question: Asked) -> SeasonStory:
    return ask_season(read_checked(texts(files), TODAY), "E1", question, date(2026, 7, 1))


LONG = {**shop(plan(10, 10, 10, 10)), "families/single.yml": FAMILY.replace("hours: 40", "hours: 400")}
