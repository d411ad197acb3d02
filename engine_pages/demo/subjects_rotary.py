"""A rotary engine's moving parts: the rotor and its seals and springs.

In: a scene and a part's `Look`. Out: the part laid on the scene; each function returns how many centimetres the
picture's height shows. The rotor's outline follows the engine's geometry for a generating radius of seven
eccentricities.
"""

from __future__ import annotations

import math

import numpy as np

from engine_pages.demo.bench import cloth
from engine_pages.demo.light import BRONZE, CHROME, GROUND, IRON, STEEL, VARNISH, VOID, Scene
from engine_pages.demo.look import COVERED, Look
from engine_pages.demo.marks import UPRIGHT, Way, cracked, crust, grown, weathered
from engine_pages.demo.metal import Canvas, Field, cloud, disc, inside, ramp, slopes, streaks, uniform
from engine_pages.demo.solids import groove, hole, plate, turned

FLANK = (
    1.856  # radius of a flank that runs through two apexes and stands 5/7 from the centre midway, in generating radii
)
FLANK_CENTRE = 1.142
GEAR_TEETH = 34
APEX_ANGLES = (-math.pi / 2, math.pi / 6, 5 * math.pi / 6)


def rotor_outline(x: Field, y: Field) -> Field:
    """Signed distance to the rotor's outline in generating radii, an apex at the top."""
    worst = np.full(np.broadcast_shapes(x.shape, y.shape), -9, dtype=np.float32)
    for angle in APEX_ANGLES:
        cx, cy = FLANK_CENTRE * math.cos(angle), FLANK_CENTRE * math.sin(angle)
        worst = np.maximum(worst, np.hypot(x - cx, y - cy) - FLANK)
    return worst


def rotor_face(scene: Scene, look: Look) -> float:
    """A rotor from its side: internal gear, oil and side seal grooves, corner seals; carbon outside the side seals."""
    canvas, k, top = scene.canvas, 0.452, 0.022
    cloth(scene, look.seed)
    x, y = canvas.x / k, (canvas.y - top) / k
    edge = rotor_outline(x, y)
    radius = np.hypot(x, y)
    ux, uy = x / np.maximum(radius, 0.05), y / np.maximum(radius, 0.05)
    rings = streaks(np.arctan2(uy, ux), radius * k, look.seed, 420.0)
    ripple = rings * 0.05
    away = edge * k
    tone = 1 + 0.08 * cloud(canvas, f"{look.seed}|skin", 5, 4)
    body = plate(scene, canvas, away, IRON, 0.012, 0.05, (ripple * ux, ripple * uy), (-uy, ux), tone)
    land = ramp(edge, -0.150, -0.138) * body
    scene.dim(canvas, 1 - 0.38 * ramp(np.abs(edge + 0.150), 0.020, 0.0) * body)
    scene.bend(canvas, *_step(canvas, edge, -0.145, 0.012, 0.5))
    _rotor_wear(scene, look, body, land, edge, radius)
    groove(scene, canvas, (edge + 0.058) * k, 0.0042, 1.0, 0.75)
    for ring in (0.548, 0.606):
        groove(scene, canvas, (radius - ring) * k, 0.0105, 0.75, 0.5)
        lip = inside(np.abs(radius - (ring + 0.004)) * k - 0.0022, canvas)
        scene.lay(canvas, lip, CHROME, (ux * 0.1, uy * 0.1), (-uy, ux))
    _rotor_gear(scene, canvas, k, top)
    for angle in APEX_ANGLES:
        _corner_seal(scene, k * 0.925 * math.cos(angle), top + k * 0.925 * math.sin(angle), angle, k)
    return 23.0


def _step(canvas: Canvas, edge: Field, at: float, width: float, steep: float) -> tuple[Field, Field]:
    """Slopes of a shallow step that follows an outline."""
    gx, gy = slopes(edge, canvas)
    length = np.maximum(np.hypot(gx, gy), 0.1)
    wall = steep * ramp(np.abs(edge - at), width, 0.0) / length
    return gx * wall, gy * wall


def _rotor_wear(scene: Scene, look: Look, body: Field, land: Field, edge: Field, radius: Field) -> None:
    canvas = scene.canvas
    deposit = look.grade("deposit")
    film = body * ramp(edge, -0.30, -0.02) * (0.25 + 0.13 * deposit)
    scene.tint(canvas, film, (0.70, 0.54, 0.38))
    if deposit:
        zone = 1.25 * ramp(edge, -0.20, -0.01) - 0.6 * ramp(edge, -0.10, -0.26)
        reached = body * ramp(radius, 0.64, 0.67)
        crust(scene, canvas, reached, f"{look.seed}|carbon", (0.0, 0.12, 0.36, 0.64, 0.88)[deposit], zone)
    if deposit >= 3:
        scabs = cloud(canvas, f"{look.seed}|scabs", 16, 4) + 0.5 * ramp(edge, -0.20, -0.05)
        bare = reached * grown(scabs, 0.03 * (deposit - 2), reached, 0.06)
        scene.lay(canvas, bare * 0.9, IRON.tinted(0.75), None, None, lit=False)
    contact = max(look.grade("contact"), look.grade("polish"))
    if contact:
        angle = np.arctan2(canvas.y - 0.022, canvas.x)
        drag = streaks(angle, radius, f"{look.seed}|drag", 130.0)
        rub = cloud(canvas, f"{look.seed}|rub", 5, 4) + 1.1 * ramp(radius, 0.68, 0.86) + 0.45 * drag
        bright = land * grown(rub, (0, 0.012, 0.035, 0.07, 0.13)[contact], land, 0.5)
        scene.lay(canvas, bright * 0.85, GROUND.tinted(0.85), None, None)
    whole = Way(hub=(0.0, 0.022, 0.24, 0.40))
    pin = 2 * math.pi * 8.5 / 12
    start = (0.49 * 0.452 * math.cos(pin), 0.022 + 0.49 * 0.452 * math.sin(pin))
    weathered(scene, canvas, body * ramp(radius, 0.50, 0.51), look, whole, frozenset({"deposit", "contact", "polish"}))
    cracked(scene, canvas, look.seed, look.grade("crack"), start, pin + 0.2, 3.0 / 230)


def _rotor_gear(scene: Scene, canvas: Canvas, k: float, top: float) -> None:
    """The internal gear in its recess, the spring pins that hold it, and the bearing behind."""
    reach = 0.53 * k
    part = canvas.window(-reach, reach, top - reach, top + reach)
    x, y = part.x, part.y - top
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    ux, uy = x / np.maximum(radius, 0.02), y / np.maximum(radius, 0.02)
    ring = radius - (0.500 * k)
    scene.dim(part, 1 - 0.6 * ramp(ring, 0.012, 0.0))
    wave = np.clip(2.4 * np.cos(angle * GEAR_TEETH), -1, 1)
    bore = radius - (0.437 * k) - wave * (0.026 * k)
    lathe = streaks(angle, radius, "gear", 500.0) * 0.05
    slope = (lathe * ux, lathe * uy)
    gear = plate(scene, part, np.maximum(ring, -bore), STEEL.tinted(0.72), 0.0035, 0.0, slope, (-uy, ux))
    scene.dim(part, 1 - gear * 0.3 * ramp(bore, 0.012, 0.0))
    pit = inside(bore, part)
    scene.lay(part, pit, IRON.tinted(0.35), (-ux * 0.25, -uy * 0.25), (-uy, ux))
    scene.dim(part, 1 - pit * (0.72 - 0.45 * ramp(ux + uy, 0.2, 1.4)))
    bush = np.maximum(radius - (0.386 * k), (0.350 * k) - radius)
    plate(scene, part, bush, BRONZE.tinted(0.9), 0.004, 0.0, (0.0, 0.0), (-uy, ux))
    lit = ramp(ux * 0.7 + uy, 0.2, 1.5) * ramp(radius, 0.20 * k, 0.35 * k)
    scene.lay(part, inside(radius - (0.350 * k), part), VOID, tone=1 + 26 * lit)
    for index in range(12):
        spot = 2 * math.pi * (index + 0.5) / 12
        hole(scene, 0.478 * k * math.cos(spot), top + 0.478 * k * math.sin(spot), 0.0055, STEEL, 0.3)


def _corner_seal(scene: Scene, x: float, y: float, angle: float, k: float) -> None:
    """A corner seal in its bore, and the slot in which the apex seal lies."""
    part = scene.canvas.window(x - 0.07, x + 0.07, y - 0.07, y + 0.07)
    dx, dy = part.x - x, part.y - y
    ahead = dx * math.cos(angle) + dy * math.sin(angle)
    aside = -dx * math.sin(angle) + dy * math.cos(angle)
    scene.dim(part, 1 - 0.75 * inside(disc(part, x, y, 0.0262), part))
    plate(
        scene,
        part,
        disc(part, x, y, 0.0238),
        GROUND.tinted(0.62),
        0.004,
        0.0,
        (0.0, 0.0),
        (-math.sin(angle), math.cos(angle)),
    )
    slot = np.maximum(np.abs(aside) - 0.0074, np.abs(ahead - 0.004) - 0.034)
    inner = rotor_outline((part.x) / k, (part.y - 0.022) / k) * k
    scene.lay(part, inside(np.maximum(slot, inner), part), VOID)
    seal = np.maximum(np.abs(aside) - 0.0052, np.abs(ahead - 0.0035) - 0.0335)
    plate(scene, part, seal, STEEL.tinted(0.9), 0.0025)


def apex_seals(scene: Scene, look: Look) -> float:
    """Three apex seals on the cloth, lying on their flanks with the crown up."""
    cloth(scene, look.seed)
    for index in range(3):
        _apex_seal(scene, look, index, -0.25 + 0.245 * index)
    return 11.6


def _apex_seal(scene: Scene, look: Look, index: int, middle: float) -> None:
    seed = f"{look.seed}|seal {index}"
    tilt = (float(uniform(f"{seed}|tilt", 1)[0]) - 0.5) * 0.036
    part = scene.canvas.window(-0.46, 0.46, middle - 0.075, middle + 0.085)
    u = part.x + tilt * (part.y - middle)
    v = part.y - middle - tilt * part.x
    ends = np.abs(u) - 0.40
    step = ramp(ends, -0.020, -0.028) * (0.0022 * look.grade("wear_step"))
    crown = -v - 0.043 + step
    corner = (u - v * 0.6) - 0.385
    solid = np.maximum(np.maximum(crown, v - 0.043), np.maximum(-u - 0.40, corner))
    chips = _chips(part, u, v, seed, look.grade("chipping", index + 1))
    solid = np.maximum(solid, -chips)
    lines = streaks(u, v, seed, 700.0)
    mask = plate(scene, part, solid, STEEL.tinted(0.80), 0.0028, 0.028, (0.0, lines * 0.05))
    worn = ramp(crown, -0.007 - 0.003 * max(look.grade("polish"), look.grade("wear_step")), -0.004) * mask
    scene.lay(part, worn, GROUND, (0.0, 0.32), None)
    broken = inside(chips - 0.004, part) * mask
    rough = cloud(part, f"{seed}|break", 60, 3) * 0.3
    scene.lay(part, broken, IRON.tinted(0.75), (rough, rough + 0.3), None)
    foot = cloud(part, f"{seed}|foot", 11, 5) + 1.3 * ramp(v, 0.005, 0.045)
    share = COVERED[look.grade("deposit")] * 0.45
    scene.lay(part, mask * grown(foot, share, mask, 0.9) * 0.68, VARNISH.tinted(0.30), None, lit=False)
    weathered(scene, part, mask, look.of_member(index + 1, seed), leave=frozenset({"deposit", "polish"}))


def _chips(part: Canvas, u: Field, v: Field, seed: str, grade: int) -> Field:
    """Signed distance to the bites out of the crown, the first few of those that the seed fixes: their number and
    size by grade.
    """
    nearest = np.full(part.shape, 1.0, dtype=np.float32)
    count, size = (0, 1, 1, 2, 4)[grade], (0.0, 0.0052, 0.0082, 0.0125, 0.0150)[grade]
    ragged = 0.20 * cloud(part, f"{seed}|ragged", 90, 3)
    for index, (x, wide, deep) in enumerate(uniform(f"{seed}|chips", 3 * 6).reshape(6, 3)[:count].tolist()):
        reach = size * (1.0 if index == 0 else 0.45 + 0.4 * wide)
        dx = (u - (0.60 * x - 0.30)) / reach
        dy = (v + 0.0445) / (reach * (0.55 + 0.45 * deep))
        nearest = np.minimum(nearest, (np.hypot(dx, dy) - 1 + ragged) * (reach * 0.6))
    return nearest


def eccentric_journal(scene: Scene, look: Look) -> float:
    """One journal of the eccentric shaft: a rotor journal between mains, or a main beside rotor journals."""
    cloth(scene, look.seed)
    main = "main" in look.view
    axis = -0.045
    beside = axis + (-0.105 if main else 0.105)
    small, large = 0.205, 0.288
    for side in (-1, 1):
        near, far = (0.285, 0.72) if side > 0 else (-0.72, -0.285)
        radius = large if main else small
        bevel = [(near, radius - 0.012), (near + 0.012, radius), (far - 0.012, radius), (far, radius - 0.012)]
        turned(scene, bevel, beside, GROUND, f"{look.seed}|{side}", cast=0.05)
        collar = (
            [(0.262, small + 0.024), (0.288, small + 0.024)]
            if side > 0
            else [(-0.288, small + 0.024), (-0.262, small + 0.024)]
        )
        turned(scene, collar, axis if main else beside, STEEL.tinted(0.7), f"{look.seed}|collar {side}", cast=0.02)
    radius = small if main else large
    profile = [(-0.262, radius - 0.014), (-0.250, radius), (0.250, radius), (0.262, radius - 0.014)]
    part, mask = turned(scene, profile, axis, GROUND, f"{look.seed}|ground", cast=0.05)
    track = mask * ramp(np.abs(part.x) + 0 * part.y, 0.246, 0.240)
    hole(scene, 0.06, axis - 0.10, 0.017, STEEL, 0.45)
    weathered(scene, part, track, look, UPRIGHT)
    return 11.0 if main else 13.5
