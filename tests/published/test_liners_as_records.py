"""Eight cylinder liners as a shop would write them down, through the command that prints figures, beside REML.

Wear of eight cylinder liners of one marine Diesel engine, hours and mm, limit 4 mm (the set analysed by Giorgio, Guida
and Pulcini, Technometrics 2010, its first eight liners). Reference: R nlme and lme4, restricted maximum likelihood, a
random rate from an exact start; computed for this test, not printed in the source.
"""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from engine_pages.cli import main

LINERS = {
    "L1": [(11300, 0.9), (14680, 1.3), (31270, 2.85)],
    "L2": [(11300, 1.5), (21970, 2.0)],
    "L3": [(12300, 1.0), (16300, 1.35)],
    "L4": [(14810, 1.9), (18700, 2.25), (28000, 2.75)],
    "L5": [(10000, 1.2), (30450, 2.75), (37310, 3.05)],
    "L6": [(6860, 0.5), (17200, 1.45), (24710, 2.15)],
    "L7": [(2040, 0.4), (12580, 2.0), (16620, 2.35)],
    "L8": [(7540, 0.5), (8840, 1.1), (9770, 1.15), (16300, 2.1)],
}
# Per hour, and hours: the best linear unbiased predictions, and where their lines meet 4 mm.
RATES = [90.82903, 100.12123, 87.37601, 108.08572, 87.48447, 87.66059, 136.38696, 114.84070]  # 10⁻⁶ mm/h
HOURS_TO_4MM = [44038.78, 39951.57, 45779.16, 37007.66, 45722.40, 45630.54, 29328.32, 34830.86]
STANDARD_ERROR = 7.43556702e-6  # mm/h, of the mean rate

FAMILY = """
family: liners
architecture: piston
exposure: hours
positions: {liner: liner}
kinds:
  liner:
    serial: yes
    service: {replace: {hours: 40000}}
    dimensions:
      wear: {unit: mm, wears: up, new: [0, 0], limit: {max: 4.0}, instrument: gauge, source: the published limit}
"""
SHOP = "instruments: {gauge: {resolution: 0.05 mm, repeat: 0.001 mm, zero: 0.001 mm, calibrated: 2000-01-01}}\n"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("liners")
    files = {"shop.yml": SHOP, "families/liners.yml": FAMILY}
    for engine, readings in LINERS.items():
        files[f"parts/{engine}-liner.yml"] = f"serial: {engine}-liner\nkind: liner\norigin: new\n"
        files[f"engines/{engine}/engine.yml"] = f"engine: {engine}\nfamily: liners\n"
        files[f"engines/{engine}/builds/2001-01-01.yml"] = (
            f"engine: {engine}\ndate: 2001-01-01\npositions: {{liner: {{part: {engine}-liner}}}}\n"
        )
        before, day, log = 0, date(2001, 1, 1), ""
        for hours, wear in readings:
            day += timedelta(days=(hours - before) // 20)
            log += f"- {{date: {day - timedelta(days=1)}, kind: run, hours: {hours - before}}}\n"
            before = hours
            files[f"engines/{engine}/inspections/{day}.yml"] = (
                f"engine: {engine}\ndate: {day}\npositions: {{liner: {{measured: {{wear: {wear}}}}}}}\n"
            )
        files[f"engines/{engine}/log.yml"] = log
    for path, text in files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return root


@pytest.fixture(scope="module")
def liners(shop: Path) -> list[dict[str, Any]]:
    """The figures of each liner's wear, as the command prints them."""
    printed = [CliRunner().invoke(main, ["figures", engine, "--records", str(shop)]) for engine in LINERS]
    assert [one.exit_code for one in printed] == [0] * len(LINERS), printed[0].output
    return [json.loads(one.output)["parts"][0]["dimensions"][0] for one in printed]


def test_the_pooled_rate_of_eight_liners_against_nlme(liners: list[dict[str, Any]]) -> None:
    mean = sum(liner["rate"]["value"] for liner in liners) / len(liners)
    # The mean of the eight predictions is not the mean rate of the kind; REML's own predictions average to this.
    assert mean == pytest.approx(sum(RATES) / len(RATES) * 1e-6, abs=0.1 * STANDARD_ERROR)
    assert {liner["parts_in_fit"] for liner in liners} == {8}


def test_each_liners_rate_against_nlme(liners: list[dict[str, Any]]) -> None:
    for liner, rate in zip(liners, RATES, strict=True):
        assert liner["rate"]["value"] == pytest.approx(rate * 1e-6, rel=0.015)
        assert liner["rate"]["low"] < rate * 1e-6 < liner["rate"]["high"]


def test_each_liners_hours_to_4_mm_against_nlme(liners: list[dict[str, Any]]) -> None:
    for liner, hours in zip(liners, HOURS_TO_4MM, strict=True):
        assert liner["to_limit"]["median"] == pytest.approx(hours, rel=0.015)
        assert liner["to_limit"]["low"] < hours < liner["to_limit"]["high"]
