"""Shops drawn at random that are odd in every allowed way: moved parts, grinding, silent runs, brackets, plans."""

import random
from datetime import date, timedelta

UNITS = ("hours", "km", "starts", "runs")


def odd_shop(seed: int) -> dict[str, str]:
    """The files of a shop; the same seed gives the same shop."""
    draw = random.Random(seed)
    unit = draw.choice(UNITS)
    files = {"families/f.yml": _family(draw, unit), "shop.yml": f"confidence: {draw.choice(['0.9', '0.5', '0.99'])}\n"}
    for number in range(3):
        prior = draw.choice(
            ["origin: new\n", "prior: unknown\n", f"prior: {{{'hours' if unit == 'runs' else unit}: 12}}\n"]
        )
        files[f"parts/P-{number}.yml"] = f"serial: P-{number}\nkind: bearing\n{prior}"
    for engine, first in (("E1", 0), ("E2", 4))[: draw.choice([1, 2])]:
        files |= _engine(draw, engine, first)
    return files


def _family(draw: random.Random, unit: str) -> str:
    apart = "apart: yes, " if draw.random() < 0.3 else ""
    inside = ", ".join(
        (
            f"unit: mm, wears: {draw.choice(['up', 'down', 'either'])}",
            f"new: [{draw.choice(['60.04, 60.06', '60.05, 60.05'])}]",
            f"limit: {{{draw.choice(['max: 60.105', 'min: 59.9, max: 60.2'])}}}",
            f"stations: [p, q], judge: {draw.choice(['each', 'largest', 'mean'])}",
            "out_of_round: {limit: {max: 0.02}}",
        )
    )
    journal = "{unit: mm, wears: down, new: [59.98, 60.0], limit: {min: 59.95}}"
    return f"""family: f
architecture: {draw.choice(["rotary", "piston"])}
exposure: {unit}
positions:
  b-1: {{kind: bearing, row: 1}}
  b-2: {{kind: bearing, row: 2}}
  shaft: shaft
  seals: {{kind: seal, names: [a1, a2]}}
  whole: whole
kinds:
  bearing:
    {{serial: yes, {apart}observe: [scoring], service: {{replace: {{{unit}: {draw.choice([5, 60, 400])}}}}},
     dimensions: {{inside: {{{inside}}}}}}}
  shaft: {{serial: yes, dimensions: {{journal_1: {journal}, journal_2: {journal}}}}}
  seal: {{dimensions: {{height: {{unit: mm, wears: down, limit: {{min: 7.5}}}}}}}}
  whole: {{whole: yes, dimensions: {{end_play: {{unit: mm, wears: none}}}}}}
fits: {{run-1: {{name: Running, row: 1, outer: b-1.inside@p, inner: shaft.journal_1, limit: {{min: 0.03, max: 0.15}}}}}}
tests: {{compression: {{unit: kPa, at: 250 rpm, limit: {{min: 600}}, spread: {{chambers: 100, rows: 100}}}}}}
services: {{oil: {{{unit}: 5, months: 6}}}}
"""


def _engine(draw: random.Random, engine: str, first: int) -> dict[str, str]:
    files, log, day = {}, [], date(2024, 1, 1)
    for nth in range(draw.randint(1, 7)):
        kind = draw.choice(["builds", "inspections", "teardowns"]) if nth else "builds"
        name = f"{day}/teardown" if kind == "teardowns" else f"{day}"
        files[f"engines/{engine}/{kind}/{name}.yml"] = _sheet(draw, engine, kind, day, nth, first)
        for _ in range(draw.randint(0, 3)):
            day += timedelta(days=draw.randint(1, 20))
            ran = draw.choice(
                ["", f", hours: {draw.choice([0, 0.5, 10])}", ", minutes: 30, km: 60", ", starts: 3, hours: 2"]
            )
            log.append(f"- {{date: {day}, kind: run{ran}}}")
        if draw.random() < 0.4:
            why = draw.choice(["looked bad", "cheap"])
            log.append(f"- {{date: {day}, kind: change, fluids: {{oil: {draw.choice('xyz')}}}, why: {why}}}")
        if draw.random() < 0.2:
            log.append(f"- {{date: {day}, kind: incident, what: over_rev}}")
        day += timedelta(days=draw.randint(1, 40))
    files[f"engines/{engine}/log.yml"] = "\n".join(log or ["[]"]) + "\n"
    if draw.random() < 0.7:
        events = [draw.choice([", hours: 2", ", km: 100, hours: 1, starts: 4", ""]) for _ in range(draw.randint(1, 4))]
        lines = "".join(f"  - {{date: 2031-0{n}-01, name: R{n}{one}}}\n" for n, one in enumerate(events, 1))
        files[f"engines/{engine}/plan.yml"] = f"events:\n{lines}{draw.choice(['keep: 0.9', ''])}\n"
    return files


def _sheet(draw: random.Random, engine: str, kind: str, day: date, nth: int, first: int) -> str:
    decision = draw.choice(["reuse", "replace", "rework"])
    decided = f", decision: {decision}, because: worn" if kind == "teardowns" else ""
    graded = f"observed: {{scoring: {nth % 5}}}{decided}"
    lines = [f"  b-1: {{part: P-{first}, measured: {{inside: {_stations(draw)}}}, {graded}}}"]
    if draw.random() < 0.7:
        lines.append(f"  b-2: {{part: P-{first + 1}, measured: {{inside: {_stations(draw)}}}}}")
    if draw.random() < 0.7:
        both = (f"journal_{n}: {59.95 + draw.random() * 0.05:.3f}" for n in (1, 2))
        lines.append(f"  shaft: {{part: P-{first + 2}, measured: {{{', '.join(both)}}}}}")
    if draw.random() < 0.5:
        lines.append(f"  seals: {{measured: {{height: {{a1: {7.5 + draw.random() / 2:.2f}, a2: 7.9}}}}}}")
    text = f"engine: {engine}\ndate: {day}\nreason: {draw.choice(['planned', 'incident', 'failure'])}\n"
    text += f"counter: {nth * 7}.5 h\n" if draw.random() < 0.3 else ""
    text += "positions:\n" + "\n".join(lines) + "\n" + ("rest: as before\n" if kind == "builds" and nth else "")
    if kind == "teardowns" and draw.random() < 0.5:
        text += f"work: [{{part: P-{first + 2}, did: ground, dimensions: [journal_1], size: -0.25 mm}}]\n"
    if kind != "builds" and draw.random() < 0.5:
        text += f"tests: {{compression: {{rpm: {draw.choice([230, 250])}, faces: marked, b-1: [650, 810, 800]}}}}\n"
    return text


def _stations(draw: random.Random) -> str:
    read = (f"{60.04 + draw.random() * 0.08:.3f}", "60.05..60.06", "under 60.09", "not measurable", "[60.05, 60.06]")
    return f"{{p: {draw.choice(read)}, q: {draw.choice(read)}}}"
