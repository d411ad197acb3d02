"""A link as a code to be read by a phone, with words under it: whoever reads it sees the page.

In: an address, or any short text, and what is to be said. Out: SVG and PNG, the same bytes for the same words; or lines
for a terminal. QR code by ISO/IEC 18004, error correction M (15 % of it may be scratched away); on a terminal L.
"""

import io
from typing import Final

import segno
from markupsafe import escape
from PIL import Image, ImageDraw, ImageFont

QUIET: Final = 4  # modules of white around the code, which the standard asks for
MODULE: Final = 12  # px of one module in the picture
LINE: Final = 22  # px from one line of words to the next
WARNING: Final = "Whoever reads this code sees the page behind it."
_DARK: Final = "#000"
# ECMA-48, SGR, with the bright white that terminals add to it: what is drawn are the light modules.
_LIGHT_ON_DARK: Final = "\x1b[97;40m"
_PLAIN: Final = "\x1b[0m"


def code_svg(address: str, title: str, *more: str) -> str:
    """The code with its words under it, a line each, one unit a module."""
    code = segno.make(address, error="m", micro=False)
    side = code.symbol_size(border=QUIET)[0]
    path = " ".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z" for y, row in enumerate(code.matrix) for x, dark in enumerate(row) if dark
    )
    words = "".join(
        f'<text x="{side / 2:g}" y="{side + 2 * number:g}" font-size="1.3" text-anchor="middle" '
        f'font-family="sans-serif" fill="{_DARK}">{escape(line)}</text>'
        for number, line in enumerate((title, *more))
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side + 4}" role="img">'
        f"<title>{escape(title)}</title>"
        f'<rect width="{side}" height="{side + 4}" fill="#fff"/><path d="{path}" fill="{_DARK}"/>{words}</svg>\n'
    )


def code_png(address: str, title: str, *more: str) -> bytes:
    """The same as a picture."""
    code = segno.make(address, error="m", micro=False)
    side = int(code.symbol_size(border=QUIET)[0]) * MODULE
    picture = Image.new("L", (side, side + 3 * LINE), 255)
    draw = ImageDraw.Draw(picture)
    for y, row in enumerate(code.matrix):
        for x, dark in enumerate(row):
            if dark:
                left, top = (x + QUIET) * MODULE, (y + QUIET) * MODULE
                draw.rectangle((left, top, left + MODULE - 1, top + MODULE - 1), fill=0)
    font = ImageFont.load_default(16)
    for number, line in enumerate((title, *more)):
        draw.text((side / 2, side + number * LINE), line, fill=0, font=font, anchor="ma")
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True)
    return out.getvalue()


def code_of_lines(text: str) -> str:
    """The code as lines of half blocks, two modules a letter, in colours of its own: dark on light whatever the
    terminal's are."""
    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out, border=QUIET, compact=True)
    return "\n".join(f"{_LIGHT_ON_DARK}{line}{_PLAIN}" for line in out.getvalue().splitlines())
