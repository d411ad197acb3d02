"""One photo of one part.

In: the kind of part, the view, what was observed (grades 0…4 by name), the label on the card and a seed that belongs
to the part. Out: the picture. The same arguments give the same pixels. What has no drawing of its own is drawn as a
plain turned part.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PIL import Image

from engine_pages.demo import subjects_engine as engines
from engine_pages.demo import subjects_engine_front as engine_fronts
from engine_pages.demo import subjects_housing as housings
from engine_pages.demo import subjects_piston as pistons
from engine_pages.demo import subjects_rotary as rotors
from engine_pages.demo import subjects_shell as shells
from engine_pages.demo import subjects_shop as shop
from engine_pages.demo.bench import with_card, with_strip
from engine_pages.demo.light import Scene, developed, exposed
from engine_pages.demo.look import Look, as_marks
from engine_pages.demo.metal import uniform, whole_canvas

Subject = Callable[[Scene, Look], float]
Words = tuple[str, ...]

# Words of the kind, words of the view (none: any), and what is drawn; the first that fits.
SUBJECTS: tuple[tuple[Words, Words, Subject], ...] = (
    ((), ("filter", "pleat"), shop.oil_filter),
    (("filter",), (), shop.oil_filter),
    (("rotary engine", "rotary assembled"), ("side", "left", "right", "quarter"), engines.rotary_engine),
    (("rotary engine", "rotary assembled"), (), engine_fronts.rotary_front),
    (("engine", "assembled"), ("side", "left", "right", "quarter"), engines.inline_four),
    (("engine", "assembled"), (), engine_fronts.four_front),
    (("rotor bearing",), (), shells.rotor_bearing),
    (("rotary main bearing",), (), shells.main_bush),
    (("bearing", "shell"), (), shells.split_shells),
    (("rotor housing",), (), housings.rotor_housing),
    (("side housing", "intermediate housing", "front housing", "rear housing"), (), housings.side_housing),
    (("stationary gear",), (), housings.stationary_gear),
    (("apex seal",), (), rotors.apex_seals),
    (("eccentric shaft",), (), rotors.eccentric_journal),
    (("rotor",), (), rotors.rotor_face),
    (("crankshaft", "shaft journal", "crank journal"), (), pistons.shaft_journal),
    (("spring",), (), shop.machined_part),
    (("valve",), ("seat", "face", "side", "stem", "tulip", "margin", "set", "head"), pistons.valve),
    (("inlet valve", "exhaust valve", "intake valve"), (), pistons.valve),
    (("piston",), ("skirt", "thrust", "side", "ring land"), pistons.piston_skirt),
    (("piston ring",), (), shop.machined_part),
    (("piston",), (), pistons.piston_crown),
    (("cylinder head", "cylinder block"), (), shop.machined_part),
    (("cylinder", "bore", "liner"), (), pistons.cylinder_bore),
)
WHOLE_ENGINES = (engines.rotary_engine, engines.inline_four, engine_fronts.rotary_front, engine_fronts.four_front)


def subject_of(kind: str, view: str) -> Subject:
    """What is drawn for a kind of part seen from `view`.

    >>> subject_of("rotor-housing", "trochoid").__name__, subject_of("oil pump", "cover off").__name__
    ('rotor_housing', 'machined_part')
    """
    plain_kind = _plain(kind)
    plain_view = _plain(view)
    for kind_words, view_words, subject in SUBJECTS:
        if _has(plain_kind, kind_words) and _has(plain_view, view_words):
            return subject
    return shop.machined_part


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").replace("_", " ").split())


def _has(text: str, words: Words) -> bool:
    return not words or any(word in text for word in words)


def draw_photo(
    kind: str,
    view: str,
    grades: Mapping[str, int],
    label: str,
    seed: str,
    size: tuple[int, int] = (2048, 1536),
    grain: str = "",
) -> Image.Image:
    """A photo, upright, RGB, `size` pixels (columns, rows).

    `kind` as the family names it, with the architecture before it where that decides (`rotary main-bearing`); `seed`
    fixes the part's marks and where they come through, so it should name the part and the view and stay the same
    through its life; `grain` names the one photo and changes nothing but the sensor's noise. A grade of one member of
    a set is given as `chipping/2`, a share of the area or a number that the sheet states as `overlay %` and `scoring
    #`.
    """
    subject = subject_of(kind, view)
    canvas = whole_canvas(*size)
    if subject in WHOLE_ENGINES:
        near, right, down = (uniform(f"{seed}|camera", 3) - 0.5).tolist()
        canvas = whole_canvas(*size, zoom=1.03 + 0.04 * near, right=0.04 + 0.03 * right, down=0.03 + 0.015 * down)
    scene = Scene(canvas)
    span_cm = subject(scene, Look(f"{_plain(kind)} {_plain(view)}", as_marks(grades), seed))
    exposure = 1.22 if subject in WHOLE_ENGINES else 1.0
    picture = developed(exposed(scene), f"{seed}|{grain}", exposure)
    if span_cm:
        picture = with_strip(picture, span_cm, seed)
    return with_card(picture, label, seed)
