/** The page: every part made, laid out and joined. */

import type { Context } from "../context.ts";
import type { About } from "../data/about.ts";
import type { Source } from "../data/source.ts";
import { h, replace } from "../dom.ts";
import { makeCompareOverlay } from "../parts/compare_overlay.ts";
import { goNear } from "../parts/go_to.ts";
import { makeHeader } from "../parts/header.ts";
import { makeHelp } from "../parts/help.ts";
import { makeLayerChoice } from "../parts/layers.ts";
import { makeLegend } from "../parts/legend.ts";
import { Notices } from "../parts/notices.ts";
import { Painter } from "../parts/painter.ts";
import { makePanel, type Panel, type Tab } from "../parts/panel.ts";
import { makePictureWords } from "../parts/picture_words.ts";
import { makePin } from "../parts/pin.ts";
import { makePrinted } from "../parts/printed.ts";
import { PointerNote } from "../parts/pointer.ts";
import { makeSliders, type Sliders } from "../parts/sliders.ts";
import { makeFittingNote } from "../parts/fitting_note.ts";
import { drawThreads } from "../parts/threads.ts";
import { makeVerdict } from "../parts/verdict.ts";
import { FACES, makeViewButtons } from "../parts/view_buttons.ts";
import { listen } from "../stage/gestures.ts";
import { Stage } from "../stage/stage.ts";
import { carriedOver, firstState, Store } from "../state.ts";
import { keepAddress, read } from "./address.ts";
import { installDevHook } from "./dev_hook.ts";
import { Measuring } from "./measuring.ts";
import { RangeOutline } from "./range_outline.ts";
import { ShapeUpdates } from "./shape_updates.ts";
import { makeTabs } from "./tabs.ts";

const FIRST_AZIMUTH = 0.35; // a little from the side: a body seen square is flat
const NARROW = "(max-width: 760px)";

export async function openPage(root: HTMLElement, source: Source, about: About): Promise<void> {
  const place = read(location.hash, about);
  const calmed = matchMedia("(prefers-reduced-motion: reduce)");
  const calm = () => calmed.matches;
  const canvas = h<HTMLCanvasElement>("canvas.picture", { tabindex: 0, role: "application", "aria-label": "Picture of the dressed body" });
  const stage = new Stage(canvas, calm);
  const notices = new Notices();
  const { view, ...kept } = place ?? {};
  const context: Context = { store: new Store({ ...firstState(about), ...kept }), source, stage, notices, calm };
  const shapes = new ShapeUpdates(context);
  new Measuring(context, shapes);
  new RangeOutline(context, shapes);
  connect(context, notices, shapes);
  const frames = layOut(root, context, notices, shapes);
  installDevHook(context, shapes);
  shapes.onBody = () => {
    frames.fit();
    stage.home(FIRST_AZIMUTH, true); // also where an address says otherwise: it says how far away the whole body is
    if (view) stage.orbit.view = view;
    shapes.onBody = () => undefined;
  };
  await shapes.load();
  if (view) root.scrollIntoView();
  keepAddress(context, frames.after);
}

/** Hear what the source says unasked. */
function connect({ store, source }: Context, notices: Notices, shapes: ShapeUpdates): void {
  source.onAbout((about) => store.set({ about, cluster: carriedOver(store.now, about) }));
  const told = new Set<string>();
  store.watch(["about"], ({ about }) => {
    for (const { name, stage, reason } of source.isLive ? about.failed : []) {
      const words = `${name}: not ${stage}: ${reason}`;
      if (!told.has(words)) notices.fail(words);
      told.add(words);
    }
  });
  source.onTrouble((trouble) => {
    notices.trouble(trouble);
    store.set({ isConnected: !trouble?.again });
    if (!trouble) shapes.again();
  });
}

interface Frames {
  /** Take the size that the layout gives. */
  fit(): void;
  /** Call `act` after every frame. */
  after(act: () => void): void;
}

function layOut(root: HTMLElement, context: Context, notices: Notices, shapes: ShapeUpdates): Frames {
  const { stage, store, source } = context;
  const { canvas } = stage;
  const sliders = makeSliders(context);
  const legend = makeLegend(context);
  const note = new PointerNote(context, shapes, legend);
  const threads = h<HTMLCanvasElement>("canvas.threads", { "aria-hidden": "true" });
  const painter = new Painter(context);
  const panel = makePanel(makeTabs(context, painter));
  const help = makeHelp(context);
  const pin = makePin(context);
  const words = makePictureWords(context);
  canvas.setAttribute("aria-describedby", words.id);
  const margin = () => sliders.left.offsetWidth;
  const picture = h("div.picture-holder", {}, canvas, words.element, makeCompareOverlay(context, margin), pin.element, note.element, makeFittingNote(context), makePrinted(context));
  const field = h("section.field", { "aria-label": "Body and sliders" }, picture, threads, sliders.left, sliders.right, makeViewButtons(context), notices.element);
  const foot = h("section.foot", { "aria-label": "What is shown" }, makeLayerChoice(context), makeVerdict(context), legend.element);
  const middle = h(source.isLive ? "main.middle" : "div.middle", {}, field, foot);
  replace(root, makeHeader(context, help.open), middle, panel.element, help.element);

  listen(canvas, stage.orbit, {
    paints: () => store.now.painting,
    hover: (x, y) => note.hover(x, y),
    leave: () => note.leave(),
    press: (x, y) => painter.press(x, y),
    stroke: (x, y) => painter.stroke(x, y),
    release: () => void painter.release(),
    tap: (x, y) => {
      note.mark(x, y);
      note.hover(x, y);
    },
    key: (key) => look(context, key),
  });
  const acts: (() => void)[] = [() => drawThreads(threads, context, sliders), () => pin.place(), () => shapes.drawn(), () => words.later()];
  stage.afterFrame = () => acts.forEach((act) => act());
  store.on(["slider"], () => stage.request());
  store.watch(["isConnected"], ({ isConnected }) => root.classList.toggle("offline", !isConnected));
  const fit = () => stage.resize(picture.clientWidth, picture.clientHeight, margin());
  new ResizeObserver(fit).observe(picture);
  store.on(["comparison"], ({ comparison }) => {
    root.classList.toggle("beside", comparison?.mode === "beside");
    fit();
  });
  fold(root, sliders, panel);
  store.watch(["cluster"], ({ cluster }) => cluster !== null && panel.open("Faults")); // whatever led to it
  return { fit, after: (act) => acts.push(act) };
}

/** A key on the picture that stands for a view; whether there is one. */
function look(context: Context, key: string): boolean {
  const face = FACES.find((each) => each.key === key);
  if (face) context.stage.orbit.turnTo(face.azimuth);
  else if (key === "Home") context.stage.home();
  else if (key === "0") goNear(context);
  else return false;
  return true;
}

/** On a narrow page the sliders are a tab of the panel. */
function fold(root: HTMLElement, sliders: Sliders, panel: Panel): void {
  const narrow = matchMedia(NARROW);
  const list = h("div.slider-list");
  const tab: Tab = { name: "Sliders", content: list };
  const lay = () => {
    root.classList.toggle("wide", !narrow.matches);
    sliders.gather(narrow.matches ? list : null);
    panel.lead(narrow.matches ? tab : null);
    if (sliders.find) (narrow.matches ? list : sliders.left).prepend(sliders.find);
  };
  narrow.addEventListener("change", lay);
  lay();
}
