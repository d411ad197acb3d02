"""How long the bench page takes over ten photos of a teardown: keeping them, and making the zip of them.

`python tests/speed/bench_export.py` prints seconds for ten drawn 12-megapixel photos in the system's Chromium, and the
zip against the plain copying of the same bytes in the same browser.
"""

import io
import shutil
import sys
import tempfile
from datetime import date
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from engine_pages.history.tell import tell_one  # noqa: E402 - the path comes first
from engine_pages.pages.bench_shelf import bench_pages  # noqa: E402
from engine_pages.records.checks.all import read_checked  # noqa: E402
from engine_pages.records.tree import Folder  # noqa: E402

EXPORT = """async (id) => {
  const began = performance.now();
  const made = await bench.zip(id);
  const bytes = await made.blob.arrayBuffer();
  const zip = performance.now() - began;
  const again = performance.now();
  await new Blob([new Uint8Array(bytes)]).arrayBuffer();
  return [zip / 1000, (performance.now() - again) / 1000, bytes.byteLength];
}"""


def photos() -> list[dict[str, object]]:
    out = io.BytesIO()
    Image.effect_noise((2000, 1500), 40).resize((4000, 3000)).convert("RGB").save(out, "JPEG", quality=88)
    return [{"name": f"IMG_{n}.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()} for n in range(10)]


def main() -> None:
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        checked = read_checked(Folder(ROOT / "records"), date(2026, 11, 25))
        for path, made in bench_pages(checked, [tell_one(checked, "K-07")[0]]).items():
            (Path(place) / path).parent.mkdir(parents=True, exist_ok=True)
            (Path(place) / path).write_bytes(made())
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(f"file://{place}/bench/K-07/index.html")
        page.get_by_role("button", name="Teardown").click()
        page.get_by_role("link", name="Rotor bearing 1").click()
        field = page.get_by_label("Take or choose photos")
        field.wait_for(state="attached")
        field.evaluate("(input) => input.addEventListener('change', () => { window.began = performance.now(); })")
        field.set_input_files(photos())  # type: ignore[arg-type]
        page.locator(".photos li").nth(9).wait_for(timeout=120_000)
        kept = page.evaluate("performance.now() - window.began") / 1000
        draft = page.evaluate("bench.drafts().then((all) => all[0].id)")
        zipped, copied, size = page.evaluate(EXPORT, draft)
        times = zipped / max(copied, 1e-3)
        print(f"ten photos of 12 megapixels: kept in {kept:.2f} s; a zip of {size / 1e6:.1f} MB in {zipped:.2f} s,")
        print(f"{times:.0f} times the copying of its bytes; at most 5 s are asked for")
        browser.close()


if __name__ == "__main__":
    main()
