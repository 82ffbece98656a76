"""Take the picture of the page in the README: `python docs/page_picture.py`. Needs Chromium and the `dev` extra.

The report of the coarse guernsey is opened as its maker would open it, at the complaint that a wearer notices most.
"""

import os
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from dressform.cli.app import run
from dressform.demo.write import write_demo

FIGURE = Path(__file__).resolve().parent / "figures" / "page.png"
SIZE = {"width": 1440, "height": 900}
FLAGS = ("--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
SETTLED = 6000  # milliseconds in which the camera comes to rest and the layer is drawn, without a graphics card


def main() -> None:
    """Write the demo and its report into a folder that goes away, and photograph the page in it."""
    chromium = os.environ.get("DRESSFORM_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    with tempfile.TemporaryDirectory() as folder:
        demo, report = Path(folder), Path(folder) / "report.html"
        write_demo(demo)
        garment = demo / "garments" / "guernsey_coarse.glb"
        run(["check", "--body", str(demo / "body.glb"), "--base", "woman", str(garment), "--shapes", "0",
             "--report", str(report)])  # fmt: skip
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=chromium, args=list(FLAGS))
            page = browser.new_page(viewport=SIZE, color_scheme="light")
            page.goto(report.as_uri())
            page.locator(".complaints button").first.click()
            page.locator("#dressform").scroll_into_view_if_needed()
            page.wait_for_timeout(SETTLED)
            page.locator("#dressform").screenshot(path=FIGURE)
            browser.close()


if __name__ == "__main__":
    main()
