"""A rotary engine's housings: the trochoid's working surface, the side housings' faces, the stationary gear.

In: a scene and a part's `Look`. Out: the part laid on the scene; each function returns how many centimetres the
picture's height shows. The trochoid has a generating radius of seven eccentricities, and the seals sweep where they
would.
"""

from __future__ import annotations

import math

import numpy as np

from engine_pages.demo.bench import cloth
from engine_pages.demo.light import BRONZE, CHROME, GROUND, IRON, RUBBER, STEEL, VOID, Scene
from engine_pages.demo.look import Look
from engine_pages.demo.marks import Way, grown, weathered
from engine_pages.demo.metal import Field, blurred, box, brushed, cloud, disc, inside, ramp, slopes, streaks
from engine_pages.demo.solids import groove, hole, plate

ECCENTRICITY = 1 / 7  # in generating radii


def rotor_housing(scene: Scene, look: Look) -> float:
    """The working surface at the plug holes, unrolled: chatter lies across the seals' way, scores along it."""
    canvas = scene.canvas
    _water_jacket(scene, look)
    band = inside(box(canvas, 0, -0.02, 2.0, 0.385), canvas, 1.5)
    lines = streaks(canvas.x, canvas.y + 0 * canvas.x, look.seed, 300.0)
    curve = 1.25 * (canvas.x - 0.02) + 0 * canvas.y
    edge = np.abs(canvas.y + 0.02) - 0.372
    lip = np.sign(canvas.y) * ramp(edge, -0.002, 0.012) * -0.6
    haze = 1 + 0.05 * cloud(canvas, f"{look.seed}|haze", 3, 4, 1.6)
    waves = _chatter(scene, look) * band
    scene.lay(canvas, band, CHROME, (curve + waves, lines * 0.028 - lip), (1.0, 0.0), haze)
    track = band * ramp(edge, 0.0, -0.006)
    scene.dim(canvas, 1 - np.abs(waves) * 0.9)
    burnt = cloud(canvas, f"{look.seed}|burnt", 2.2, 5, 2.2) + 0.7 * np.exp(-(((canvas.x - 0.22) / 0.30) ** 2))
    scene.tint(canvas, track * ramp(burnt, -0.1, 1.3) * 0.8, (0.80, 0.68, 0.54))
    _flaked(scene, look, track)
    hole(scene, 0.13, 0.105, 0.058, STEEL, 0.12)
    hole(scene, 0.105, -0.155, 0.020, STEEL, 0.20)
    weathered(scene, canvas, track, look, leave=frozenset({"chatter", "flaking"}))
    return 10.4


def _water_jacket(scene: Scene, look: Look) -> None:
    """The aluminium beyond the working surface, in shadow."""
    canvas = scene.canvas
    bumps = cloud(canvas, f"{look.seed}|casting", 8, 4)
    sx, sy = slopes(bumps * 0.0016, canvas)
    everywhere = np.ones(canvas.shape, dtype=np.float32)
    scene.lay(canvas, everywhere, IRON.tinted(0.42), (sx, sy), tone=1 + 0.2 * bumps)
    gap = np.abs(canvas.y + 0.02) - 0.385
    scene.dim(canvas, np.broadcast_to(0.08 + 0.92 * ramp(gap, -0.004, 0.05), canvas.shape))


def _chatter(scene: Scene, look: Look) -> Field:
    """The slope of chatter marks: even waves after the plug holes, deeper and further with the grade."""
    grade = look.grade("chatter")
    canvas = scene.canvas
    if not grade:
        return np.zeros(canvas.shape, dtype=np.float32)
    reach = 0.08 + 0.075 * grade
    zone = np.exp(-(((canvas.x - 0.33) / reach) ** 2)).astype(np.float32)
    wander = 0.006 * cloud(canvas, f"{look.seed}|wander", 2, 3)
    pitch = 2 * math.pi / 0.034
    depth = (0.0, 0.05, 0.10, 0.17, 0.26)[grade]
    uneven = 0.75 + 0.35 * cloud(canvas, f"{look.seed}|uneven", 3, 3)
    return np.asarray(depth * zone * uneven * np.sin((canvas.x + wander) * pitch), dtype=np.float32)


def _flaked(scene: Scene, look: Look, mask: Field) -> None:
    """Chrome lifted off the steel sheet, from the edges and round the plug holes first."""
    grade = look.grade("flaking")
    if not grade:
        return
    canvas = scene.canvas
    edge = np.abs(canvas.y + 0.02) - 0.385
    zone = 1.5 * ramp(edge, -0.06, 0.0) + 1.1 * ramp(disc(canvas, 0.13, 0.105, 0.058), 0.07, 0.0)
    field = cloud(canvas, f"{look.seed}|flake", 9, 5, 1.3) + zone
    bare = mask * grown(field, (0, 0.008, 0.025, 0.06, 0.12)[grade], mask, 0.03)
    gx, gy = slopes(blurred(bare, canvas, 0.0022), canvas)
    scene.lay(canvas, bare, IRON.tinted(0.62), (0.0, 0.0), None, 1 + 0.25 * cloud(canvas, f"{look.seed}|base", 24, 3))
    scene.bend(canvas, gx * -0.0035, gy * -0.0035)


def trochoid(x: Field, y: Field) -> Field:
    """Distance outwards from the trochoid, lying along the picture, in generating radii (near the curve)."""
    turn = np.linspace(0, 2 * math.pi, 1441)
    px = np.cos(turn) - ECCENTRICITY * np.cos(3 * turn)
    py = np.sin(turn) - ECCENTRICITY * np.sin(3 * turn)
    px, py = np.cos(turn) + ECCENTRICITY * np.cos(3 * turn), np.sin(turn) + ECCENTRICITY * np.sin(3 * turn)
    angle = np.unwrap(np.arctan2(py, px))
    reach = np.interp(np.arctan2(y, x), angle - 2 * math.pi, np.hypot(px, py), period=2 * math.pi)
    return np.asarray(np.hypot(x, y) - reach, dtype=np.float32)


def side_housing(scene: Scene, look: Look) -> float:
    """A side housing's lapped face: seal tracks, intake port, coolant passages, sealing grooves."""
    canvas, k, top = scene.canvas, 0.365, -0.045
    cloth(scene, look.seed)
    x, y = canvas.x / k, (canvas.y - top) / k
    wall, radius = trochoid(x, y), np.hypot(x, y)
    lap = brushed(canvas, look.seed) * 0.035
    tone = 1 + 0.06 * cloud(canvas, f"{look.seed}|skin", 4, 4) + lap
    body = plate(scene, canvas, (wall - 0.285) * k, IRON.tinted(0.92), 0.010, 0.05, (0.0, lap), (1.0, 0.0), tone)
    _seal_tracks(scene, look, body, wall, radius)
    round_shaft = Way(hub=(0.0, top, 0.15, 0.40))
    weathered(scene, canvas, body * ramp(radius, 0.35, 0.36), look, round_shaft, frozenset({"wear_step", "polish"}))
    for ring in (0.030, 0.205):
        groove(scene, canvas, (wall - ring) * k, 0.0052, 0.8, 0.6)
        cord = inside(np.abs(wall - ring) * k - 0.0022, canvas)
        scene.lay(canvas, cord * body, RUBBER, (0.0, 0.0), None)
    _passages(scene, k, top)
    _intake_port(scene, look, k, top)
    _shaft_bore(scene, top, 0.325 * k)
    return 28.8


def _seal_tracks(scene: Scene, look: Look, body: Field, wall: Field, radius: Field) -> None:
    """Bands that the seals polish: side seals within the trochoid, each oil seal a ring two eccentricities wide;
    and their step.
    """
    canvas = scene.canvas
    worn = look.grade("wear_step")
    swept = body * ramp(wall, -0.025, -0.035)
    scene.tint(canvas, swept * 0.5, (0.93, 0.90, 0.86))
    patch = 0.80 + 0.25 * cloud(canvas, f"{look.seed}|track", 3, 4)
    side = body * ramp(np.abs(wall + 0.15), 0.115, 0.100)
    shine = 0.28 + 0.13 * max(worn, look.grade("polish"))
    scene.lay(canvas, side * patch * shine, GROUND.tinted(0.8), None, None)
    for mean, depth in ((0.606, 0.9), (0.548, 1.0)):
        ring = body * ramp(np.abs(radius - mean), ECCENTRICITY + 0.010, ECCENTRICITY)
        scene.lay(canvas, ring * patch * shine * depth, GROUND.tinted(0.86), None, None)
        for edge in (mean - ECCENTRICITY, mean + ECCENTRICITY):
            line = (radius - edge) * 0.365
            level = 0.05 + 0.14 * worn
            gx, gy = slopes(line, canvas)
            step = level * ramp(np.abs(line), 0.0045, 0.0) * (1 if edge > mean else -1)
            scene.bend(canvas, step * gx, step * gy)
            scene.dim(canvas, 1 - (0.10 + 0.08 * worn) * ramp(np.abs(line), 0.0030, 0.0))


def around(count: int) -> list[tuple[float, float, float, float]]:
    """`count` evenly spaced points of the trochoid with its outward normal: x, y, nx, ny."""
    turn = np.linspace(0, 2 * math.pi, 1441)
    x = np.cos(turn) + ECCENTRICITY * np.cos(3 * turn)
    y = np.sin(turn) + ECCENTRICITY * np.sin(3 * turn)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    at = np.interp((np.arange(count) + 0.5) / count * run[-1], run, turn)
    points = []
    for t in at.tolist():
        nx = math.cos(t) + 3 * ECCENTRICITY * math.cos(3 * t)
        ny = math.sin(t) + 3 * ECCENTRICITY * math.sin(3 * t)
        size = math.hypot(nx, ny)
        px, py = math.cos(t) + ECCENTRICITY * math.cos(3 * t), math.sin(t) + ECCENTRICITY * math.sin(3 * t)
        points.append((px, py, nx / size, ny / size))
    return points


def _passages(scene: Scene, k: float, top: float) -> None:
    """Coolant passages between the sealing grooves, and the bolt holes outside them, round the trochoid."""
    for px, py, nx, ny in around(18):
        hole(scene, k * (px + 0.247 * nx), top + k * (py + 0.247 * ny), 0.0085, STEEL, 0.35)
    for px, py, nx, ny in around(16):
        _slot(scene, k * (px + 0.118 * nx), top + k * (py + 0.118 * ny), (-ny, nx), 0.024, 0.0120)


def _slot(scene: Scene, x: float, y: float, way: tuple[float, float], half: float, radius: float) -> None:
    part = scene.canvas.window(
        x - half - radius * 2, x + half + radius * 2, y - half - radius * 2, y + half + radius * 2
    )
    dx, dy = part.x - x, part.y - y
    ahead = np.clip(dx * way[0] + dy * way[1], -half, half)
    away = np.hypot(dx - ahead * way[0], dy - ahead * way[1]) - radius
    lip = inside(away - 0.0025, part)
    gx, gy = slopes(away, part)
    scene.lay(part, lip, IRON, (gx * 0.5, gy * 0.5))
    lit = ramp(dx + dy, -0.2 * radius, 2.2 * radius)
    scene.lay(part, inside(away, part), VOID, tone=1 + 10 * lit)


def _intake_port(scene: Scene, look: Look, k: float, top: float) -> None:
    """The intake port: bounded by the side seals' and the oil seals' ways, a chamfer on its closing edge, the
    runner in shadow.
    """
    part = scene.canvas.window(-0.42, -0.02, top - 0.30, top + 0.02)
    x, y = part.x / k, (part.y - top) / k
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    outer = trochoid(x, y) + 0.105
    middle = -2.42
    aside = np.abs(angle - middle) * radius - 0.215
    inner = 0.762 - radius
    rounded = 0.045
    sides = [np.maximum(edge + rounded, 0) for edge in (outer, aside, inner)]
    away = np.sqrt(sides[0] ** 2 + sides[1] ** 2 + sides[2] ** 2) - rounded
    away = np.where(away > -rounded * 0.999, away, np.maximum(np.maximum(outer, aside), inner)) * k
    gx, gy = slopes(away, part)
    lip = inside(away - 0.006, part)
    scene.lay(part, lip, IRON.tinted(1.1), (gx * 0.5, gy * 0.5))
    deep = ramp(away, 0.0, -0.05)
    rough = cloud(part, f"{look.seed}|runner", 30, 3) * 0.15
    shade = 0.55 * ramp(x + y, -1.45, -0.70) * (1 - deep * 0.5) + 0.05
    scene.lay(part, inside(away, part), IRON.tinted(0.55), (rough + 0.25, rough + 0.3), None, shade)


def _shaft_bore(scene: Scene, top: float, radius: float) -> None:
    part = scene.canvas.window(-radius * 1.4, radius * 1.4, top - radius * 1.4, top + radius * 1.4)
    away = disc(part, 0.0, top, radius)
    reach = np.maximum(away + radius, 1e-3)
    ux, uy = part.x / reach, (part.y - top) / reach
    scene.lay(part, inside(away - 0.009, part), GROUND, (ux * 0.55, uy * 0.55), (-uy, ux))
    lit = ramp(ux * 0.7 + uy, 0.1, 1.5) * ramp(away, -0.06, 0.0)
    scene.lay(part, inside(away, part), VOID, tone=1 + 30 * lit)


def stationary_gear(scene: Scene, look: Look) -> float:
    """A stationary gear from its toothed end: flange, teeth, and the main bearing within."""
    canvas, top = scene.canvas, -0.04
    cloth(scene, look.seed)
    x, y = canvas.x, canvas.y - top
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    ux, uy = x / np.maximum(radius, 0.02), y / np.maximum(radius, 0.02)
    turned_face = streaks(angle, radius, look.seed, 420.0) * 0.05
    lobes = radius - 0.365 - 0.020 * np.cos(angle * 6)
    flange = plate(
        scene, canvas, lobes, STEEL.tinted(0.62), 0.010, 0.05, (turned_face * ux, turned_face * uy), (-uy, ux)
    )
    for index in range(6):
        spot = math.pi / 3 * index
        hole(scene, 0.325 * math.cos(spot), top + 0.325 * math.sin(spot), 0.019, STEEL, 0.3)
    weathered(scene, canvas, flange * ramp(radius, 0.25, 0.26), look, Way(hub=(0.0, top, 0.25, 0.36)))
    worn = look.grade("tooth_wear")
    wave = np.clip(2.2 * np.cos(angle * 24), -1, 1)
    teeth = radius - (0.222 - 0.0015 * worn) - wave * 0.018
    scene.cast(canvas, inside(teeth, canvas), 0.03)
    rings = streaks(angle, radius, f"{look.seed}|gear", 500.0) * 0.05
    gear = plate(scene, canvas, teeth, STEEL.tinted(0.85), 0.006, 0.0, (rings * ux, rings * uy), (-uy, ux))
    flank = gear * ramp(np.abs(teeth + 0.006), 0.006, 0.002)
    scene.lay(canvas, flank * (0.18 * worn), GROUND, None, None)
    bush = np.maximum(radius - 0.168, 0.146 - radius)
    plate(scene, canvas, bush, BRONZE.tinted(0.8), 0.004, 0.0, (0.0, 0.0), (-uy, ux))
    lit = ramp(ux * 0.7 + uy, 0.2, 1.5) * ramp(radius, 0.07, 0.146)
    scene.lay(canvas, inside(radius - 0.146, canvas), VOID, tone=1 + 26 * lit)
    return 15.6
