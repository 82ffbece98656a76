/** The page: every part made, laid out and joined. */

import type { About } from "../data/about.ts";
import type { Source } from "../data/source.ts";
import { h, replace } from "../dom.ts";
import { makeAlterLeaf } from "../parts/alter.ts";
import { makeCompareLeaf, makeCompareOverlay } from "../parts/compare.ts";
import { makeComplaints } from "../parts/complaints.ts";
import { makeSliders } from "../parts/sliders.ts";
import { makeLayerChoice, makeLegend } from "../parts/layers.ts";
import { makeHelp } from "../parts/help.ts";
import { makeKeepLeaf } from "../parts/keep.ts";
import { makeMast } from "../parts/mast.ts";
import { Notices } from "../parts/notices.ts";
import { Painter } from "../parts/painter.ts";
import { PointerNote } from "../parts/pointer.ts";
import { makePin } from "../parts/pin.ts";
import { makePoseLeaf } from "../parts/pose_leaf.ts";
import { makeRangeLeaf } from "../parts/range_leaf.ts";
import { makeSlip, type Leaf } from "../parts/slip.ts";
import { makeTapeLeaf } from "../parts/tape_leaf.ts";
import { drawThreads } from "../parts/threads.ts";
import { makeVerdict } from "../parts/verdict.ts";
import { listen } from "../stage/hands.ts";
import { Stage } from "../stage/stage.ts";
import { firstState, Store } from "../state.ts";
import type { Desk } from "./desk.ts";
import { Following } from "./following.ts";
import { openHatch } from "./hatch.ts";
import { Outlining } from "./outlining.ts";
import { Reading } from "./reading.ts";

const FIRST_AZIMUTH = 0.35; // a little from the side: a body seen square is flat
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
  new Outlining(desk, following);
  source.onAbout((next) => desk.store.set({ about: next }));
  source.onTrouble((trouble) => {
    desk.notices.trouble(trouble);
    if (!trouble) following.again();
  });

  const sliders = makeSliders(desk);
  const legend = makeLegend(desk);
  const note = new PointerNote(desk, following, legend);
  const threads = h<HTMLCanvasElement>("canvas.threads", { "aria-hidden": "true" });
  const painter = new Painter(desk);
  const slip = makeSlip(makeLeaves(desk, painter));
  const help = makeHelp(desk);
  const pin = makePin(desk);
  const picture = h("div.picture-holder", {}, canvas, makeCompareOverlay(desk, () => sliders.left.offsetWidth), pin.element, note.element);
  const field = h("section.field", { "aria-label": "Body and sliders" }, picture, threads, sliders.left, sliders.right);
  const foot = h("section.foot", { "aria-label": "What is shown" }, makeLayerChoice(desk), makeVerdict(desk), legend.element);
  replace(root, makeMast(desk, help.open), h("div.middle", {}, field, foot), slip.element, desk.notices.element, help.element);

  listen(canvas, stage.orbit, {
    paints: () => desk.store.now.painting,
    hover: (x, y) => note.hover(x, y),
    leave: () => note.leave(),
    press: (x, y) => painter.stroke(x, y),
    stroke: (x, y) => painter.stroke(x, y),
    release: () => void painter.release(),
    tap: (x, y) => {
      note.mark(x, y);
      note.hover(x, y);
    },
    home: () => stage.home(),
    face: (azimuth) => stage.home(azimuth),
  });
  stage.afterFrame = () => {
    drawThreads(threads, desk, sliders);
    pin.place();
    following.drawn();
  };
  desk.store.on(["slider"], () => stage.request());
  const fitPicture = () => stage.resize(picture.clientWidth, picture.clientHeight, sliders.left.offsetWidth);
  new ResizeObserver(fitPicture).observe(picture);
  fold(root, sliders, slip);
  openHatch(desk, following);
  await following.load();
  fitPicture();
  stage.home(FIRST_AZIMUTH);
}

/** The leaves of the slip that this life of the page has. */
function makeLeaves(desk: Desk, painter: Painter): Leaf[] {
  const { can } = desk.store.now.about;
  const leaves: Leaf[] = [
    { name: "Faults", content: makeComplaints(desk) },
    { name: "Range", content: makeRangeLeaf(desk) },
    { name: "Compare", content: makeCompareLeaf(desk) },
  ];
  if (can.includes("edit")) leaves.push({ name: "Alter", content: makeAlterLeaf(desk, painter) });
  if (can.includes("tape")) {
    const tape = makeTapeLeaf(desk);
    leaves.push({ name: "Tape", content: tape.element, shown: tape.shown });
  }
  if (can.includes("pose")) leaves.push({ name: "Pose", content: makePoseLeaf(desk) });
  return [...leaves, { name: "Keep", content: makeKeepLeaf(desk) }];
}

/** On a narrow page the sliders are a leaf of the slip. */
function fold(root: HTMLElement, sliders: ReturnType<typeof makeSliders>, slip: ReturnType<typeof makeSlip>): void {
  const narrow = matchMedia("(max-width: 760px)");
  const list = h("div.slider-list");
  const leaf: Leaf = { name: "Sliders", content: list };
  const lay = () => {
    root.classList.toggle("wide", !narrow.matches);
    sliders.gather(narrow.matches ? list : null);
    slip.lead(narrow.matches ? leaf : null);
    if (sliders.find) (narrow.matches ? list : sliders.left).prepend(sliders.find);
  };
  narrow.addEventListener("change", lay);
  lay();
}
