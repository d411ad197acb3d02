"""Plain bearings: the rotor bearing's loaded side, unrolled, and split shells lying on the cloth.

In: a scene and a part's `Look`. Out: the part laid on the scene; each function returns how many centimetres the
picture's height shows. A bearing wears through its layers in turn: overlay, a thin bright barrier, copper-lead
lining, steel back.
"""

from __future__ import annotations

import numpy as np

from engine_pages.demo.bench import cloth
from engine_pages.demo.light import BACKING, BARRIER, CAST_IRON, COPPER, OVERLAY, STEEL, VOID, Finish, Scene
from engine_pages.demo.look import WORN_THROUGH, Look
from engine_pages.demo.marks import grown, scored, weathered
from engine_pages.demo.metal import Canvas, Field, box, brushed, cloud, disc, inside, ramp, slopes

POLISHED = Finish((0.42, 0.42, 0.425), 0.13, 0.28, 0.78)
ROTOR_HOLE = (-0.27, 0.02, 0.037)  # the oil hole: x, y, radius
MAIN_HOLE = (0.33, 0.13, 0.030)


def rotor_bearing(scene: Scene, look: Look) -> float:
    """The loaded side of a rotor bearing, its circumference across the picture and its axis upright."""
    _bush(scene, look, 0.80, ROTOR_HOLE)
    return 4.6


def main_bush(scene: Scene, look: Look) -> float:
    """The loaded side of a main bearing pressed into its stationary gear."""
    _bush(scene, look, 0.74, MAIN_HOLE)
    return 3.7


def _bush(scene: Scene, look: Look, radius: float, oil: tuple[float, float, float]) -> None:
    canvas = scene.canvas
    _surround(scene, look)
    band = inside(box(canvas, 0, -0.015, 2.0, 0.372), canvas, 1.5)
    curve = 0.86 * canvas.x / np.sqrt(radius**2 - canvas.x**2)
    lines = brushed(canvas, look.seed)
    down = lines * 0.045 + _chamfer(canvas)
    scene.lay(canvas, band, OVERLAY, (curve, down), (1.0, 0.0), 1 + 0.10 * lines)
    flat = band * inside(np.abs(canvas.y + 0.015) + 0 * canvas.x - 0.345, canvas, 3)
    worn_layers(scene, canvas, flat, look, _loaded_zone(canvas, 0.08, -0.02, 0.40, 0.33), lines)
    _oil_hole(scene, canvas, *oil)
    weathered(scene, canvas, flat, look, leave=frozenset({"overlay"}))


def _chamfer(canvas: Canvas) -> Field:
    """The slope of the edges' chamfers, down the picture."""
    y = canvas.y + 0.015
    top, bottom = ramp(y, -0.350, -0.364), ramp(y, 0.350, 0.364)
    return np.asarray((bottom - top) * 0.75, dtype=np.float32)


def _surround(scene: Scene, look: Look) -> None:
    """What the bearing is pressed into, above and below it, a little out of focus and in its shadow."""
    canvas = scene.canvas
    bumps = cloud(canvas, f"{look.seed}|casting", 9, 4)
    sx, sy = slopes(bumps * 0.0016, canvas)
    scene.lay(canvas, np.ones(canvas.shape, dtype=np.float32), CAST_IRON, (sx, sy), tone=1 + 0.25 * bumps)
    gap = np.abs(canvas.y + 0.015) - 0.372
    scene.dim(canvas, np.broadcast_to(0.10 + 0.90 * ramp(gap, -0.004, 0.05), canvas.shape))


def _loaded_zone(canvas: Canvas, x: float, y: float, half_x: float, half_y: float) -> Field:
    """Where the load sits: high in the middle, falling away to the parting line and a little to the edges."""
    u = (canvas.x - x) / half_x
    v = (canvas.y - y) / half_y
    return np.asarray(1.15 * np.exp(-(u**2) * 0.9) * (1 - 0.30 * v**4), dtype=np.float32)


def worn_layers(scene: Scene, canvas: Canvas, mask: Field, look: Look, zone: Field, lines: Field) -> None:
    """Overlay polished, then through to the barrier and the copper lining, then to steel, where the load sits."""
    grade = look.grade("overlay")
    patchy = 0.62 * cloud(canvas, f"{look.seed}|load", 3.2, 6, 1.25)
    field = zone + patchy + 0.05 * lines
    run_in = (0.10, 0.30, 0.45, 0.62, 0.80)[grade]
    tone = 1 + 0.09 * lines
    scene.lay(canvas, mask * grown(field, run_in, mask, 0.55) * 0.80, POLISHED, None, tone=tone, lit=False)
    through = look.share("overlay", WORN_THROUGH)
    if not through:
        return
    edge = grown(field, min(0.97, through * 1.16 + 0.015), mask, 0.10)
    scene.lay(canvas, mask * edge * 0.75, BARRIER, None, tone=tone, lit=False)
    lining = grown(field, through, mask, 0.085)
    lead = cloud(canvas, f"{look.seed}|lead", 26, 3, 2.5)
    age = 1 + 0.16 * lead + 0.12 * lines
    scene.lay(canvas, mask * lining * 0.93, COPPER, None, tone=age, lit=False)
    if grade == 4:
        steel = grown(field, 0.13, mask, 0.07)
        scene.lay(canvas, mask * steel, BACKING, None, tone=tone, lit=False)
        scored(scene, canvas, mask * lining, f"{look.seed}|smear", 18, strength=0.45)


def _oil_hole(scene: Scene, canvas: Canvas, x: float, y: float, radius: float) -> None:
    part = canvas.window(x - radius * 2, x + radius * 2, y - radius * 2, y + radius * 2)
    away = disc(part, x, y, radius)
    rim = inside(away - (0.16 * radius), part)
    ux, uy = (part.x - x) / radius, (part.y - y) / radius
    scene.lay(part, rim, STEEL.tinted(1.05), (-ux * 0.55, -uy * 0.55), (-uy, ux))
    bore = inside(away, part)
    depth = ramp(ux * 0.7 + uy, -0.2, 1.3)
    scene.lay(part, bore, VOID, tone=1 + 14 * depth)


def split_shells(scene: Scene, look: Look) -> float:
    """The two halves of a split bearing, their running sides up: the grooved half above, the half that carries the
    load below.
    """
    cloth(scene, look.seed)
    main = "main" in look.view or "crank bearing" in look.view
    if "upper" in look.view or "lower" in look.view:
        upper = "upper" in look.view
        _half_shell(scene, look, -0.055, 0.235, grooved=main and upper, loaded=main is not upper)
        return 5.6
    _half_shell(scene, look, -0.255, 0.150, grooved=main, loaded=not main)
    _half_shell(scene, look, 0.140, 0.150, grooved=False, loaded=main)
    return 9.0


def _half_shell(scene: Scene, look: Look, middle: float, half_y: float, grooved: bool, loaded: bool) -> None:
    half_x = 0.405 * (half_y / 0.150) ** 0.8
    part = scene.canvas.window(-half_x - 0.01, half_x + 0.04, middle - half_y - 0.01, middle + half_y + 0.01)
    y = part.y - middle
    outline = np.maximum(box(part, 0, middle, half_x, half_y, 0.004), -_tang(part, half_x, y))
    mask = inside(outline, part)
    scene.cast(part, mask, 0.06)
    curve = part.x / np.sqrt((0.47**2) - np.minimum(part.x**2, (0.46**2)))
    lines = brushed(part, f"{look.seed}|{middle}")
    scene.lay(part, mask, OVERLAY, (curve * 0.8, lines * 0.05), (1.0, 0.0), 1 + 0.10 * lines)
    look = Look(look.view, look.grades if loaded else eased(look), f"{look.seed}|{middle}")
    running = mask * inside(box(part, 0, middle, half_x - 0.022, half_y - 0.010), part, 2.5)
    zone = _loaded_zone(part, 0.02, middle, 0.74 * half_x, half_y)
    worn_layers(scene, part, running, look, zone, lines)
    weathered(scene, part, running, look, leave=frozenset({"overlay"}))
    if grooved:
        band = inside(np.abs(y) - 0.021 + 0 * part.x, part) * mask
        scene.lay(part, band, COPPER.tinted(0.72), (curve * 0.8, -y * 26), None, lit=False)
        scene.dim(part, 1 - band * 0.35)
    if grooved or loaded is False:
        _oil_hole(scene, scene.canvas, 0.10, middle, 0.019)
    _parting_edges(scene, part, mask, half_x, half_y, middle)


def _parting_edges(scene: Scene, part: Canvas, mask: Field, half_x: float, half_y: float, middle: float) -> None:
    """The wall's thickness where it is seen: the parting faces at the ends, chamfers at the sides."""
    ends = mask * inside((half_x - 0.013) - np.abs(part.x) + 0 * part.y, part)
    scene.lay(part, ends, STEEL, (0.0, 0.0), (0.0, 1.0))
    layer = mask * inside(np.abs(np.abs(part.x) - (half_x - 0.012)) - 0.0012 + 0 * part.y, part)
    scene.lay(part, layer * 0.8, COPPER.tinted(0.8), None)
    y = part.y - middle
    side = mask * inside((half_y - 0.007) - np.abs(y) + 0 * part.x, part)
    scene.lay(part, side, STEEL.tinted(0.85), (part.x * 0.8, np.sign(y) * -0.55), (1.0, 0.0))


def _tang(part: Canvas, half_x: float, y: Field) -> Field:
    """The notch behind the locating tang, at one end."""
    return np.asarray(np.maximum((half_x - 0.020) - part.x, np.abs(y + 0.07) - 0.022), dtype=np.float32)


def eased(look: Look) -> dict[str, int]:
    """The grades of the half that carries less: each one step lower."""
    return {mark: max(0, grade - 1) for mark, grade in look.grades.items()}
