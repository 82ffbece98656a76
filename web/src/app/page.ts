/** The page: every part made, laid out and joined. */

import type { About } from "../data/about.ts";
import type { Source } from "../data/source.ts";
import { h, replace } from "../dom.ts";
import { makeComplaints } from "../parts/complaints.ts";
import { makeDials } from "../parts/dials.ts";
import { makeLayerChoice, makeLegend } from "../parts/layers.ts";
import { makeMast } from "../parts/mast.ts";
import { Notices } from "../parts/notices.ts";
import { PointerNote } from "../parts/pointer.ts";
import { makeSlip, type Leaf } from "../parts/slip.ts";
import { drawThreads } from "../parts/threads.ts";
import { makeVerdict } from "../parts/verdict.ts";
import { listen } from "../stage/hands.ts";
import { Stage } from "../stage/stage.ts";
import { firstState, Store } from "../state.ts";
import type { Desk } from "./desk.ts";
import { Following } from "./following.ts";
import { openHatch } from "./hatch.ts";
import { Reading } from "./reading.ts";

const CANVAS_WORDS =
  "The body, dressed. Arrow keys turn it, plus and minus come nearer and go back, 1 to 4 show front, left, back and right, Home shows all.";

export async function openPage(root: HTMLElement, source: Source, about: About): Promise<void> {
  const calmed = matchMedia("(prefers-reduced-motion: reduce)");
  const calm = () => calmed.matches;
  const canvas = h<HTMLCanvasElement>("canvas.picture", { tabindex: 0, role: "img", "aria-label": CANVAS_WORDS });
  const stage = new Stage(canvas, calm);
  const desk: Desk = { store: new Store(firstState(about)), source, stage, notices: new Notices(), calm };
  const following = new Following(desk);
  new Reading(desk, following);
  source.onAbout((next) => desk.store.set({ about: next }));

  const dials = makeDials(desk);
  const legend = makeLegend(desk);
  const note = new PointerNote(desk, following, legend);
  const threads = h<HTMLCanvasElement>("canvas.threads", { "aria-hidden": "true" });
  const leaves: Leaf[] = [{ name: "Faults", content: makeComplaints(desk) }];
  const slip = makeSlip(leaves);
  const picture = h("div.picture-holder", {}, canvas, note.element);
  const field = h("section.field", { "aria-label": "Body and dials" }, threads, dials.left, picture, dials.right);
  const foot = h("section.foot", { "aria-label": "What is shown" }, makeLayerChoice(desk), legend.element, makeVerdict(desk));
  replace(root, makeMast(desk, () => undefined), h("div.middle", {}, field, foot), slip.element, desk.notices.element);

  listen(canvas, stage.orbit, {
    paints: () => false,
    hover: (x, y) => note.hover(x, y),
    leave: () => note.leave(),
    press: () => undefined,
    stroke: () => undefined,
    release: () => undefined,
    home: () => stage.home(),
    face: (azimuth) => stage.home(azimuth),
  });
  stage.afterFrame = () => drawThreads(threads, desk, dials);
  desk.store.on(["dial"], () => stage.request());
  new ResizeObserver(() => stage.resize(picture.clientWidth, picture.clientHeight)).observe(picture);
  fold(root, dials, slip);
  openHatch(desk, following);
  await following.load();
  stage.resize(picture.clientWidth, picture.clientHeight);
  stage.home(0.35);
}

/** On a narrow page the dials are a leaf of the slip. */
function fold(_root: HTMLElement, dials: ReturnType<typeof makeDials>, slip: ReturnType<typeof makeSlip>): void {
  const narrow = matchMedia("(max-width: 760px)");
  const list = h("div.dial-list");
  const leaf: Leaf = { name: "Dials", content: list };
  const lay = () => {
    dials.gather(narrow.matches ? list : null);
    slip.lead(narrow.matches ? leaf : null);
    if (dials.find) (narrow.matches ? list : dials.left).prepend(dials.find);
  };
  narrow.addEventListener("change", lay);
  lay();
}
