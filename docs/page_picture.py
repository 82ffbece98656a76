"""Take the pictures of page and report in the documents: `python docs/page_picture.py`.

Needs Chromium and the `dev` extra. The report of the coarse guernsey is opened as its maker would open it: its first
screen, the page in it as it opens, and the page at the gravest complaint that it can show.
"""

import os
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from dressform.cli.app import run
from dressform.demo.write import write_demo

FIGURES = Path(__file__).resolve().parent / "figures"
SIZE = {"width": 1440, "height": 900}
REPORT_HEIGHT = 560  # pixels: the verdict with its pictures, and the table
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
             "--stances", "none", "--report", str(report)])  # fmt: skip
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=chromium, args=list(FLAGS))
            page = browser.new_page(viewport=SIZE, color_scheme="light")
            page.goto(report.as_uri())
            page.screenshot(path=FIGURES / "report.png", clip={"x": 0, "y": 0, "width": 1440, "height": REPORT_HEIGHT})
            live = page.locator("#dressform")
            live.scroll_into_view_if_needed()
            page.wait_for_timeout(SETTLED)
            live.screenshot(path=FIGURES / "page-start.png")
            page.get_by_role("button", name="Show me the worst").click()
            live.scroll_into_view_if_needed()
            page.wait_for_timeout(SETTLED)
            live.screenshot(path=FIGURES / "page.png")
            browser.close()


if __name__ == "__main__":
    main()
