"""How long a turned slider takes to be seen: from the slider's event to the end of the frame that shows the shape.

A garment of 10,000 vertices on a body of 24,000 with 12 morphs, all of them away from 0, in a real Chromium: live, over
the socket of a server in a process of its own, and as a report, with the morphs added in the browser. `one slider`
moves one of them, `all sliders` all at once, as a jump to another shape does. Chromium draws in software, into a
small window. `following` is asking and adding up (live: the program's answer included); `normals`, `to the renderer`
and `over it` (threads, pin) are the page's own work; `drawing alone` is one frame of the same picture, waited for until
its pixels can be read. `whole` ends when the frame is given to the renderer, so its pixels come later by about that.
Milliseconds of wall-clock time; the goal is 20.

Run: OPENBLAS_NUM_THREADS=1 PYTHONPATH=tests python benchmarks/bench_page_browser.py
"""

import multiprocessing
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from bench_page import CLEARANCE, GARMENT, KEY, RADIUS, closed_body, revolved, serve_page
from dressform.fit.make import make_fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.garment.garment import Garment
from dressform.web.guard import LOOPBACK
from pagetools import drawing_browser, shown
from pictured import bare_report

RUNS = 30
SMALL = (780, 420)
PARTS = ("whole", "follow", "placed", "drawn", "over", "alone")
TURN = """([runs, all]) => new Promise((done) => {
  const tapes = [...document.querySelectorAll(".tape input")];
  const times = [];
  const turn = (run) => {
    if (run === runs) return done(times);
    for (const [k, tape] of tapes.entries()) {
      if (!all && k !== 0) continue;
      tape.value = String(0.1 + 0.8 * ((run * 37 + k * 11) % 100) / 100);
      tape.dispatchEvent(new Event("input"));
    }
    const before = window.dressform.frameMs();
    const wait = () => {
      if (window.dressform.frameMs() === before) return requestAnimationFrame(wait);
      const { placed, drawn, over } = window.dressform.spent();
      const whole = window.dressform.frameMs(), follow = window.dressform.followMs() - placed;
      times.push({ whole, follow, placed, drawn, over, alone: window.dressform.timeDrawing() });
      setTimeout(() => turn(run + 1), 30);
    };
    requestAnimationFrame(wait);
  };
  turn(0);
})"""


def main() -> None:
    """Measure and print one Markdown table."""
    body = closed_body()
    cloth = Garment.of("tube", *revolved(*GARMENT, radius=RADIUS + CLEARANCE, low=0.5, high=1.3))
    context = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder, drawing_browser() as browser:
        save_body(body, Path(folder) / "body.glb")
        save_garment(cloth, Path(folder) / "tube.glb")
        report = Path(folder) / "report.html"
        report.write_text(bare_report(body, make_fit(body, cloth), KEY), encoding="utf-8")
        told, tell = context.Pipe()
        server = context.Process(target=serve_page, args=(folder, tell), daemon=True)
        server.start()
        token, port = told.recv()
        try:
            live = turned(browser, f"http://{LOOPBACK}:{port}/?token={token}")
        finally:
            server.terminate()
            server.join()
        still = turned(browser, report.as_uri())
    heads = ("whole", "p95", "following", "normals", "to the renderer", "over it", "page's own", "drawing alone")
    print(f"| slider to frame, ms | {' | '.join(heads)} |")
    print("|---|" + "---|" * len(heads))
    for life, found in (("live", live), ("report", still)):
        for name, times in found.items():
            print(f"| {life}, {name} | {row(times)} |")


def row(times: list[dict[str, float]]) -> str:
    """Medians, and the 95th percentile of the whole, ms; the page's own work is what it does itself in a turn."""
    middle = {part: float(np.median([one[part] for one in times])) for part in PARTS}
    own = float(np.median([one["placed"] + one["drawn"] + one["over"] for one in times]))
    late = float(np.percentile([one["whole"] for one in times], 95))
    shown_parts = [middle["whole"], late, *(middle[part] for part in ("follow", "placed", "drawn", "over")), own]
    return " | ".join(f"{value:.1f}" for value in (*shown_parts, middle["alone"]))


def turned(browser: Any, address: str) -> dict[str, list[dict[str, float]]]:
    """What each turn took, of one slider and of all sliders at once."""
    with shown(browser, address, size=SMALL) as page:
        page.ready()
        page.page.evaluate(TURN, [10, True])  # the first frames are compiled as they run
        return {
            name: page.page.evaluate(TURN, [RUNS, everything])
            for name, everything in (("one slider", False), ("all sliders", True))
        }


if __name__ == "__main__":
    main()
