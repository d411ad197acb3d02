"""A piston engine's own parts: crank journal, piston, cylinder and valve; and the journals of any shaft.

In: a scene and a part's `Look`. Out: the part laid on the scene; each function returns how many centimetres the
picture's height shows.
"""

from __future__ import annotations

import math

import numpy as np

from engine_pages.demo.bench import cloth
from engine_pages.demo.light import ALUMINIUM, CAST_IRON, GROUND, IRON, STEEL, VARNISH, Finish, Scene
from engine_pages.demo.look import COVERED, HONED_OFF, SPECKS, Look
from engine_pages.demo.marks import UPRIGHT, Way, crust, grown, pitted, weathered
from engine_pages.demo.metal import Canvas, Field, box, brushed, cloud, disc, inside, noise, ramp, slopes, streaks
from engine_pages.demo.solids import groove, hole, plate, turned

GRAPHITE = Finish((0.055, 0.056, 0.060), 0.30, 0.36, 0.5)
FORGED = Finish((0.19, 0.185, 0.18), 0.42, 0.42, 0.5)
SCUFFED = Finish((0.66, 0.66, 0.67), 0.10, 0.34, 0.9)
RING_TRAVEL_TOP = -0.255  # where the top ring turns round, in the cylinder's picture


def shaft_journal(scene: Scene, look: Look) -> float:
    """One journal of a shaft lying across the picture, its fillets and the cheeks beside it."""
    axis = -0.045
    cloth(scene, look.seed)
    main = "main" in look.view
    for side in (-1, 1):
        _cheek(scene, look, side, axis, main)
    radius = 0.235 if main else 0.250
    fillet = [(0.30 - 0.030 * math.sin(t), radius + 0.030 * (1 - math.cos(t))) for t in (0.0, 0.4, 0.8, 1.2, 1.57)]
    profile = [(-x, r) for x, r in reversed(fillet)] + fillet
    profile = sorted(profile)
    part, mask = turned(scene, profile, axis, GROUND, f"{look.seed}|ground", cast=0.05)
    track = mask * ramp(np.abs(part.x) + 0 * part.y, 0.275, 0.268)
    hole(scene, 0.07, axis - 0.085, 0.020, STEEL, 0.45)
    weathered(scene, part, track, look, UPRIGHT)
    return 9.2 if main else 10.4


def _cheek(scene: Scene, look: Look, side: int, axis: float, main: bool) -> None:
    """The web beside a journal, seen edge on, and the journal behind it."""
    near, far = 0.300, 0.470
    low, high = (near, far) if side > 0 else (-far, -near)
    beyond = (far, 0.72) if side > 0 else (-0.72, -far)
    turned(
        scene,
        [(beyond[0], 0.21), (beyond[1], 0.21)],
        axis + (-0.12 if main else 0.13),
        GROUND,
        f"{look.seed}|{side}",
        cast=0.04,
    )
    bevel = 0.022
    profile = [(low, 0.365 - bevel), (low + bevel, 0.365), (high - bevel, 0.365), (high, 0.365 - bevel)]
    part, mask = turned(scene, profile, axis + 0.02, FORGED, f"{look.seed}|web {side}", cast=0.05)
    bumps = cloud(part, f"{look.seed}|forging {side}", 14, 4) * 0.0016
    sx, sy = slopes(bumps, part)
    scene.bend(part, sx * mask, sy * mask)


def piston_crown(scene: Scene, look: Look) -> float:
    """A piston from above: valve pockets, turned rings, carbon, and the clean border that fuel washes."""
    canvas, radius, top = scene.canvas, 0.392, -0.045
    cloth(scene, look.seed)
    away = disc(canvas, 0, top, radius)
    x, y = canvas.x / radius, (canvas.y - top) / radius
    r = np.hypot(x, y)
    ux, uy = x / np.maximum(r, 0.02), y / np.maximum(r, 0.02)
    rings = streaks(np.arctan2(uy, ux), r, look.seed, 150.0) * 0.06
    body = plate(scene, canvas, away, ALUMINIUM.tinted(0.8), 0.014, 0.06, (rings * ux, rings * uy), (-uy, ux))
    for px, py, size in ((-0.40, -0.50, 0.40), (0.40, -0.50, 0.40), (-0.38, 0.53, 0.34), (0.38, 0.53, 0.34)):
        _pocket(scene, canvas, body, px * radius, top + py * radius, size * radius)
    hole(scene, 0.0, top + 0.80 * radius, 0.007, ALUMINIUM, 0.2)
    deposit = look.grade("deposit")
    scene.tint(canvas, body * min(1.0, 0.18 + 0.25 * deposit), (0.62, 0.50, 0.38))
    if deposit:
        washed = 1.7 * ramp(r, 0.80, 1.0) * ramp(cloud(canvas, f"{look.seed}|wash", 4, 3) - y, -0.4, 0.5)
        share = COVERED[deposit]
        crust(scene, canvas, body, f"{look.seed}|carbon", share, 0.5 * (1 - r) - washed)
    rim = ramp(r, 0.70, 0.97) * ramp(y + 0.5 * cloud(canvas, f"{look.seed}|knock", 3, 3), -0.1, 0.6)
    pitted(scene, canvas, body, f"{look.seed}|pits", SPECKS[look.grade("pitting")] * 3, 0.0055, rim)
    weathered(scene, canvas, body, look, Way(hub=(0.0, top, 0.1, radius)), leave=frozenset({"deposit", "pitting"}))
    return 11.0


def _pocket(scene: Scene, canvas: Canvas, body: Field, x: float, y: float, radius: float) -> None:
    """A valve's pocket: a flat floor a little below the crown, milled in rings of its own."""
    part = canvas.window(x - radius * 1.1, x + radius * 1.1, y - radius * 1.1, y + radius * 1.1)
    here = body[part.top : part.top + part.height, part.left : part.left + part.width]
    away = disc(part, x, y, radius)
    gx, gy = slopes(away, part)
    wall = ramp(np.abs(away), 0.007, 0.0) * 0.75 * here
    floor = inside(away, part) * here
    dx, dy = part.x - x, part.y - y
    length = np.maximum(np.hypot(dx, dy), 0.01)
    mill = streaks(np.zeros((1, 1), dtype=np.float32), length, f"{x:.3f},{y:.3f}", 420.0) * 0.05
    scene.lay(
        part,
        floor,
        ALUMINIUM.tinted(0.72),
        (mill * dx / length + 0.03, mill * dy / length + 0.02),
        (-dy / length, dx / length),
    )
    scene.bend(part, wall * gx, wall * gy)
    scene.dim(part, 1 - floor * 0.22 * ramp(away, -0.03, 0.0))


def piston_skirt(scene: Scene, look: Look) -> float:
    """A piston from its thrust side, standing on the cloth: rings, lands, coated skirt and what scuffed it."""
    canvas, radius = scene.canvas, 0.405
    cloth(scene, look.seed)
    part = canvas.window(-0.44, 0.44, -0.10, 0.40)
    share = np.clip(part.x / radius, -0.99, 0.99)
    curve = -share / np.sqrt(1 - share * share)
    lines = streaks(np.zeros((1, 1), dtype=np.float32), part.y, f"{look.seed}|skirt", 420.0)
    foot = 0.300 - 0.022 * ramp(np.abs(part.x), 0.22, 0.31)
    waist = 0.335 - 0.022 * np.cos((part.y - 0.08) * 7.0)
    outline = np.maximum(np.abs(part.x) - waist, part.y - foot)
    outline = np.maximum(outline, -0.095 - part.y)
    skirt = plate(scene, part, outline, ALUMINIUM.tinted(0.8), 0.006, 0.06, (curve, lines * 0.07), (1.0, 0.0))
    scene.dim(part, 1 - skirt * 0.35 * ramp(np.abs(share), 0.6, 1.0))
    coat = inside(box(part, 0, 0.085, 0.235, 0.135, 0.05), part) * skirt
    worn = cloud(part, f"{look.seed}|coat", 3.2, 5) + 0.9 * np.exp(-((part.x / 0.16) ** 2))
    gone = grown(worn, (0.0, 0.06, 0.20, 0.42, 0.70)[max(look.grade("polish"), look.grade("scuffing"))], coat, 0.25)
    scene.lay(part, coat * (1 - gone), GRAPHITE, None, lit=False)
    _scuffed(scene, part, skirt, look)
    _ring_pack(scene, look, radius)
    weathered(scene, part, skirt, look, UPRIGHT, leave=frozenset({"polish"}))
    return 10.6


def _ring_pack(scene: Scene, look: Look, radius: float) -> None:
    """Crown land, three rings in their grooves and the lands between; carbon on the land over the top ring."""
    top = -0.415
    edges = [top, top + 0.008, top + 0.105, top + 0.106, top + 0.118, top + 0.119, top + 0.172, top + 0.173]
    edges += [top + 0.187, top + 0.188, top + 0.226, top + 0.227, top + 0.262, top + 0.263, top + 0.325]
    depth = [0.006, 0.0, 0.0, 0.014, 0.014, 0.0, 0.0, 0.014, 0.014, 0.0, 0.0, 0.014, 0.014, 0.0, 0.0]
    profile = [(y, radius - 0.004 - d) for y, d in zip(edges, depth, strict=True)]
    part, mask = turned(scene, profile, 0.0, ALUMINIUM.tinted(0.8), f"{look.seed}|lands", upright=True, cast=0.05)
    deposit = look.grade("deposit")
    land = mask * ramp(part.y + 0 * part.x, top + 0.11, top + 0.10)
    scene.tint(part, land * 0.6, (0.5, 0.38, 0.28))
    if deposit:
        crust(scene, part, land, f"{look.seed}|land", COVERED[deposit] * 0.6)
    for low, high in ((0.106, 0.118), (0.173, 0.187), (0.227, 0.262)):
        scene.dim(
            part,
            1
            - mask * 0.85 * ramp(np.abs(part.y - (top + (low + high) / 2)), (high - low) / 2 + 0.004, (high - low) / 2),
        )
        ring = [(top + low + 0.0015, radius - 0.002), (top + high - 0.0015, radius - 0.002)]
        turned(scene, ring, 0.0, GROUND.tinted(0.9), f"{look.seed}|ring {low}", upright=True)


def _scuffed(scene: Scene, part: Canvas, mask: Field, look: Look) -> None:
    """Metal smeared up and down the skirt, in the middle of the thrust face first."""
    grade = look.grade("scuffing")
    if not grade:
        return
    smear = noise(part, f"{look.seed}|smear", 130, 2.2) * 0.8 + noise(part, f"{look.seed}|smear2", 40, 1.6)
    field = smear + 1.6 * np.exp(-((part.x / 0.17) ** 2)) - np.abs(part.y - 0.08) * 3
    bare = mask * grown(field, (0, 0.06, 0.14, 0.28, 0.48)[grade], mask, 0.5)
    scene.lay(part, bare * 0.9, SCUFFED, None, tone=0.8 + 0.25 * smear, lit=False)
    sx, _ = slopes(bare * smear * 0.0012, part)
    scene.bend(part, np.clip(sx, -0.5, 0.5), np.zeros_like(sx))


def cylinder_bore(scene: Scene, look: Look) -> float:
    """A cylinder's wall from its deck down: carbon over the ring travel, hone marks at 45 degrees, polish where
    they are gone.
    """
    canvas = scene.canvas
    _deck(scene, look)
    wall = inside(np.maximum(-0.345 - canvas.y, canvas.y - 0.372) + 0 * canvas.x, canvas, 1.5)
    curve = canvas.x / np.sqrt((0.74**2) - canvas.x**2)
    hatch = _hone(canvas, look.seed)
    field = cloud(canvas, f"{look.seed}|glaze", 2.6, 5) + 1.3 * ramp(canvas.y, 0.15, RING_TRAVEL_TOP)
    travel = wall * ramp(canvas.y + 0 * canvas.x, RING_TRAVEL_TOP, RING_TRAVEL_TOP + 0.006)
    glaze = travel * grown(field, look.share("polish", HONED_OFF), travel, 0.30)
    left = 0.075 * (1 - glaze * 0.93)
    scene.lay(canvas, wall, IRON.tinted(1.12), (curve, hatch * left), (1.0, 0.0), 1 + hatch * left * 1.1)
    scene.lay(canvas, glaze * 0.85, GROUND.tinted(0.78), None, None)
    _above_the_ring(scene, look, wall)
    weathered(scene, canvas, travel, look, UPRIGHT, leave=frozenset({"polish", "deposit"}))
    return 11.6


def _hone(canvas: Canvas, seed: str) -> Field:
    """Two families of scratches that cross at 45 degrees, each crossing the horizontal at half of that."""
    total = np.zeros(canvas.shape, dtype=np.float32)
    zero = np.zeros((1, 1), dtype=np.float32)
    for turn in (-1, 1):
        across = canvas.y * math.cos(math.pi / 8) + canvas.x * (turn * math.sin(math.pi / 8))
        total += streaks(zero, across, f"{seed}|hone {turn}", 330.0)
    return total


def _deck(scene: Scene, look: Look) -> None:
    """The block's deck above and the darkness of the crankcase below."""
    canvas = scene.canvas
    lines = brushed(canvas, f"{look.seed}|deck")
    everywhere = np.ones(canvas.shape, dtype=np.float32)
    scene.lay(canvas, everywhere, IRON.tinted(0.9), (0.0, lines * 0.05), (1.0, 0.0), 1 + 0.08 * lines)
    lower = ramp(canvas.y + 0 * canvas.x, 0.365, 0.375)
    below = cloud(canvas, f"{look.seed}|below", 3.5, 4)
    dark = 0.75 + 0.35 * below - 0.5 * ramp(canvas.y + 0 * canvas.x, 0.42, 0.375)
    scene.lay(canvas, lower, CAST_IRON.tinted(0.30), slopes(below * 0.01, canvas), tone=dark)
    chamfer = inside(np.abs(canvas.y + 0.350) - 0.008 + 0 * canvas.x, canvas)
    scene.lay(canvas, chamfer, GROUND, (canvas.x * 0.4, 0.42))
    print_ring = inside(np.abs(canvas.y + 0.408) - 0.016 + 0 * canvas.x, canvas, 4)
    scene.tint(canvas, print_ring * 0.7, (0.5, 0.45, 0.40))


def _above_the_ring(scene: Scene, look: Look, wall: Field) -> None:
    """The unswept band: lacquer always, carbon with the grade, and the edge where the top ring turns."""
    canvas = scene.canvas
    unswept = wall * ramp(canvas.y + 0 * canvas.x, RING_TRAVEL_TOP + 0.004, RING_TRAVEL_TOP)
    scene.tint(canvas, unswept * 0.75, (0.42, 0.33, 0.25))
    deposit = look.grade("deposit")
    if deposit:
        crust(scene, canvas, unswept, f"{look.seed}|carbon", COVERED[deposit] * 0.85)
    depth = 0.15 + 0.20 * look.grade("wear_step")
    line = np.broadcast_to(canvas.y - RING_TRAVEL_TOP, canvas.shape)
    groove(scene, canvas, np.asarray(line, dtype=np.float32) * wall + (1 - wall), 0.0035, depth, 0.25)


def valve(scene: Scene, look: Look) -> float:
    """A poppet valve lying across the picture: margin, seating face and tulip; deposit behind the head."""
    cloth(scene, look.seed)
    axis, k = -0.05, 1.25
    head = 0.255
    recess = 0.004 * look.grade("wear_step")
    shape = [(-0.360, head * 0.94), (-0.352, head), (-0.330, head), (-0.330 + 0.052, head - 0.052 - recess)]
    tulip = [(-0.278 + 0.02 * i, 0.034 + 0.168 * math.exp(-0.29 * i)) for i in range(1, 15)]
    stem = [(0.05, 0.0335), (0.62, 0.0335), (0.72, 0.0335)]
    profile = [((x + 0.02) * k, r * k) for x, r in shape + tulip + stem]
    part, mask = turned(scene, profile, axis, STEEL.tinted(0.72), f"{look.seed}|valve", cast=0.07)
    seat = mask * ramp(np.abs(part.x - (-0.284 * k)) + 0 * part.y, 0.036, 0.030)
    scene.lay(part, seat, GROUND.tinted(1.1), None, None)
    behind = mask * ramp(part.x + 0 * part.y, -0.245 * k, -0.235 * k)
    deposit = look.grade("deposit")
    hot = behind * ramp(part.x + 0 * part.y, 0.35, -0.1)
    scene.tint(part, hot * 0.7, (0.62, 0.50, 0.42) if "ex" in look.view else (0.78, 0.66, 0.5))
    if deposit:
        zone = 2.2 * ramp(part.x + 0 * part.y, 0.25, -0.22)
        share = (0, 0.10, 0.22, 0.32, 0.42)[deposit]
        scene.lay(
            part,
            behind * grown(zone + cloud(part, f"{look.seed}|tan", 5, 5), share * 1.3, behind, 0.4) * 0.7,
            VARNISH,
            None,
            lit=False,
        )
        crust(scene, part, behind, f"{look.seed}|carbon", share, zone)
    face = scene.canvas.window(-0.318 * k, -0.250 * k, axis - 0.24 * k, axis + 0.24 * k)
    pitted(
        scene, face, np.ones(face.shape, dtype=np.float32), f"{look.seed}|pits", look.count("pitting", SPECKS), 0.005
    )
    weathered(scene, part, mask, look, UPRIGHT, leave=frozenset({"deposit", "pitting"}))
    return 5.2
