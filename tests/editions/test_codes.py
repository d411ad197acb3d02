"""The codes that `share` writes, read back as a phone reads them."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
import zxingcpp
from bench.handed import git
from click.testing import CliRunner
from PIL import Image, ImageDraw

from engine_pages.cli import main
from engine_pages.editions.table import EDITIONS
from engine_pages.pages.link_code import code_png, code_svg

from .canaries import OWN, write_shop

NAME = OWN.split("/")[1]
SITE = "https://history.example"
SVG = "{http://www.w3.org/2000/svg}"
MODULE = 8  # px


def read(picture: Path) -> list[str]:
    """What stands in a picture: a PNG, or an SVG of rectangles and unit squares, drawn by what it says itself."""
    image = Image.open(picture) if picture.suffix == ".png" else drawn(picture)
    with image:
        return [found.text for found in zxingcpp.read_barcodes(image)]


def drawn(picture: Path) -> Image.Image:
    top = ElementTree.parse(picture).getroot()
    left, above, width, height = map(int, top.attrib["viewBox"].split())
    assert (left, above) == (0, 0)
    image = Image.new("L", (width * MODULE, height * MODULE), 128)  # what the SVG leaves open is neither
    pen = ImageDraw.Draw(image)
    for one in top.iter(f"{SVG}rect"):
        assert one.attrib["fill"] == "#fff"
        pen.rectangle((0, 0, int(one.attrib["width"]) * MODULE, int(one.attrib["height"]) * MODULE), fill=255)
    for one in top.iter(f"{SVG}path"):
        assert one.attrib["fill"] == "#000"
        assert re.fullmatch(r"(M\d+ \d+h1v1h-1z ?)+", one.attrib["d"])
        for x, y in re.findall(r"M(\d+) (\d+)", one.attrib["d"]):
            corner = int(x) * MODULE, int(y) * MODULE
            pen.rectangle((*corner, corner[0] + MODULE - 1, corner[1] + MODULE - 1), fill=0)
    return image


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_shop(tmp_path_factory.mktemp("codes") / "shop")


@pytest.mark.parametrize("edition", EDITIONS[1:])
def test_both_codes_of_a_link_hold_exactly_the_link(shop: Path, tmp_path: Path, edition: str) -> None:
    asked = ["share", NAME, "--records", str(shop), "--edition", edition, "--codes", str(tmp_path)]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    link = done.output.splitlines()[0]
    assert re.fullmatch(rf"{SITE}/s/[a-z2-7]{{32}}/", link)
    assert {path.suffix: read(path) for path in tmp_path.iterdir()} == {".svg": [link], ".png": [link]}


def test_a_renewed_link_and_the_link_after_a_sale_have_codes_of_their_own(shop: Path, tmp_path: Path) -> None:
    run = CliRunner()
    common = ["--records", str(shop), "--codes"]
    first = run.invoke(main, ["share", NAME, "--edition", "owner", *common, str(tmp_path / "first")]).output.split()[0]
    token = first.rstrip("/").rpartition("/")[2]
    renewed = run.invoke(main, ["share", "--renew", token, *common, str(tmp_path / "renewed")]).output.split()[0]
    sold = run.invoke(main, ["sold", NAME, "--to", "somebody", *common, str(tmp_path / "sold")]).output
    links = {"first": first, "renewed": renewed, "sold": next(word for word in sold.split() if word.startswith(SITE))}
    assert len(set(links.values())) == 3
    for folder, link in links.items():
        assert {text for path in (tmp_path / folder).iterdir() for text in read(path)} == {link}
    assert git(shop, "status", "--porcelain") == ""


@pytest.mark.parametrize("site", ["https://a.example", f"https://{'long.' * 20}example/{'folder/' * 10}"])
def test_a_code_that_is_scratched_in_its_middle_still_reads(tmp_path: Path, site: str) -> None:
    # ISO/IEC 18004, level M: about 15 % of the code words may be lost
    link = f"{site}/s/{'abcdefgh' * 4}/"
    (tmp_path / "code.png").write_bytes(code_png(link, "K-07, owner"))
    (tmp_path / "code.svg").write_text(code_svg(link, "K-07, owner"))
    assert read(tmp_path / "code.svg") == [link]
    with Image.open(tmp_path / "code.png") as image:
        scratched = image.copy()
    middle, reach = scratched.width // 2, scratched.width // 10
    ImageDraw.Draw(scratched).rectangle((middle - reach, middle - reach, middle + reach, middle + reach), fill=255)
    scratched.save(tmp_path / "scratched.png")
    assert read(tmp_path / "scratched.png") == [link]
