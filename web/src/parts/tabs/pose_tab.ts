/** The tab of poses: joints turned by hand, or an animation of the body file stepped through, moved along, played. */

import { Euler, MathUtils, Quaternion } from "three";
import type { Context } from "../../context.ts";
import { button, h, replace } from "../../dom.ts";
import { nameOf, poseName, spaced } from "../../naming.ts";
import type { AnimationAbout } from "../../data/about.ts";
import type { Moment, PoseChoice, Quaternion as Turn } from "../../data/source.ts";
import { amount } from "../amount.ts";
import { stanceGrid } from "../charts/stance_grid.ts";
import { goToPosed, worstPosed } from "../go_to.ts";

const MS = 1000;
const STEP = 0.01;
const NONE = "";
const AXES = [["forward and back", "x"], ["about its own length", "y"], ["sideways", "z"]] as const;
const FURTHEST = 120; // degrees either way

export function makePoseTab(context: Context): HTMLElement {
  const { about } = context.store.now;
  return h(
    "div.pose-tab",
    {},
    about.stances.length > 0 && stancePart(context),
    about.animations.length > 0 && animationPart(context),
    jointPart(context),
    button("Back to the modelled pose", () => context.store.set({ pose: null })),
    h("p.quiet-words", {}, "Faults are measured as the body stands. Garments without joint weights stay as modelled."),
  );
}

function momentOfPose(pose: PoseChoice | null): Moment | null {
  return pose && "animation" in pose ? pose : null;
}

function stancePart(context: Context): HTMLElement {
  const { store } = context;
  const { stances } = store.now.about;
  const found = h("div.stances-found");
  const choice = h<HTMLSelectElement>(
    "select",
    {},
    h("option", { value: NONE }, "none"),
    stances.map(({ name, origin }, i) => h("option", { value: i, title: origin }, spaced(name))),
  );
  const origin = h("p.quiet-words");
  const steps = ([["Previous", -1], ["Next", 1]] as const).map(([words, by]) => button(words, () => go(by)));
  choice.addEventListener("change", () => store.set({ pose: choice.value === NONE ? null : { stance: Number(choice.value) } }));
  store.watch(["about", "focus"], () => replace(found, told()));
  store.watch(["pose"], ({ pose }) => {
    const at = pose && "stance" in pose ? pose.stance : null;
    choice.value = at === null ? NONE : String(at);
    replace(origin, at === null ? "" : (stances[at]?.origin ?? ""));
  });
  return h("div.pose-part", {}, h("h2.tab-title", {}, "Stances"), h("label.field-row", {}, h("span", {}, "Stance"), choice), h("div.ways", {}, ...steps), origin, found);

  /** What was found in each of them. */
  function told(): Node | string {
    const { about, focus } = store.now;
    const worst = worstPosed(store.now);
    if (!worst) return h("p.quiet-words", {}, about.check.state === "running" ? "Stances are looked at after the causes." : "Stances have not been looked at yet.");
    const words = `${nameOf(about, focus)} at its worst: ${poseName(about, worst)}, ${worst.words}`;
    return h("div.pose-part", {},
      worst.words ? button(words, () => goToPosed(context, worst)) : h("p", {}, `${nameOf(about, focus)} is clean in every stance.`),
      stanceGrid(about, focus, (posed) => goToPosed(context, posed)));
  }

  /** The next stance, or the one before; at the ends it goes round. */
  function go(by: 1 | -1): void {
    const { pose } = store.now;
    const at = pose && "stance" in pose ? pose.stance : by > 0 ? -1 : 0;
    store.set({ pose: { stance: (at + by + stances.length) % stances.length } });
  }
}

function jointPart(context: Context): HTMLElement | null {
  const { store } = context;
  const joints = store.now.about.joints;
  if (!joints.length) return null;
  const angles = new Map<string, [number, number, number]>();
  const sliders = h("div.joint-angles");
  const choice = h<HTMLSelectElement>("select", {}, joints.map((joint) => h("option", { value: joint }, spaced(joint))));
  const lay = () => {
    const joint = choice.value;
    const now = angles.get(joint) ?? [0, 0, 0];
    replace(sliders, AXES.map(([words], axis) =>
      amount(words, now[axis], { low: -FURTHEST, high: FURTHEST, step: 1, unit: "°" }, (degrees) => {
        now[axis] = degrees;
        angles.set(joint, now);
        store.set({ pose: { turns: turnsOf(angles) } });
      })));
  };
  choice.addEventListener("change", lay);
  store.on(["pose"], ({ pose }) => {
    if (pose && "turns" in pose) return;
    angles.clear();
    lay();
  });
  lay();
  return h("div.pose-part", {}, h("h2.tab-title", {}, "Turn a joint"), h("label.field-row", {}, h("span", {}, "Joint"), choice), sliders);
}

/** Unit quaternions of joints that are turned by three angles in degrees. */
export function turnsOf(angles: ReadonlyMap<string, readonly [number, number, number]>): Record<string, Turn> {
  const turns: Record<string, Turn> = {};
  for (const [joint, degrees] of angles) {
    const [x, y, z] = degrees.map((angle) => MathUtils.degToRad(angle));
    const { x: i, y: j, z: k, w } = new Quaternion().setFromEuler(new Euler(x, y, z, "YZX"));
    turns[joint] = [i, j, k, w];
  }
  return turns;
}

function animationPart(context: Context): HTMLElement {
  const { store } = context;
  const { animations } = store.now.about;
  const choice = h<HTMLSelectElement>(
    "select",
    {},
    h("option", { value: NONE }, "none"),
    animations.map(({ name }, i) => h("option", { value: i }, spaced(name))),
  );
  const time = h<HTMLInputElement>("input", { type: "range", min: 0, step: STEP, value: 0, "aria-label": "Moment of the animation, seconds" });
  const play = button("Play", () => (playing ? stop() : start()));
  const steps = [button("Previous key", () => void step(-1)), button("Next key", () => void step(1))];
  const moves = h("div.pose-moves", { hidden: true }, time, h("div.ways", {}, play, ...steps));
  const keys = new Map<number, number[]>();
  let playing = 0;

  choice.addEventListener("change", () => {
    stop();
    store.set({ pose: choice.value === NONE ? null : { animation: Number(choice.value), time: 0 } });
  });
  time.addEventListener("input", () => {
    stop();
    move(time.valueAsNumber);
  });
  store.watch(["pose"], ({ pose }) => {
    const moment = momentOfPose(pose);
    choice.value = moment ? String(moment.animation) : NONE;
    moves.hidden = !moment;
    if (!moment) {
      stop();
      return;
    }
    time.max = String(animations[moment.animation].duration_s);
    time.value = String(moment.time);
  });
  return h("div.pose-part", {}, h("h2.tab-title", {}, "Animations in the body file"), h("label.field-row", {}, h("span", {}, "Animation"), choice), moves);

  function move(to: number): void {
    const moment = momentOfPose(store.now.pose);
    if (moment) store.set({ pose: { ...moment, time: to } });
  }

  function start(): void {
    const moment = momentOfPose(store.now.pose);
    if (!moment) return;
    replace(play, "Stop");
    const began = performance.now() - MS * moment.time;
    const go = (now: number) => {
      const at = momentOfPose(store.now.pose);
      if (!at) return;
      move(momentOf(animations[at.animation], (now - began) / MS));
      playing = requestAnimationFrame(go);
    };
    playing = requestAnimationFrame(go);
  }

  function stop(): void {
    cancelAnimationFrame(playing);
    playing = 0;
    replace(play, "Play");
  }

  async function step(by: 1 | -1): Promise<void> {
    stop();
    const moment = momentOfPose(store.now.pose);
    if (!moment) return;
    try {
      if (!keys.has(moment.animation)) {
        const pack = await context.source.request("pose", { animation: moment.animation }).result;
        if (pack) keys.set(moment.animation, pack.header.times);
      }
      move(keyBeside(keys.get(moment.animation) ?? [], moment.time, by));
    } catch (error) {
      context.notices.fail(error);
    }
  }
}

/** A moment of an animation that goes round and round. */
export function momentOf({ duration_s: duration }: AnimationAbout, seconds: number): number {
  return duration > 0 ? seconds % duration : 0;
}

/** The next key after a moment, or the one before it; at the ends it goes round. */
export function keyBeside(times: readonly number[], time: number, by: 1 | -1): number {
  if (!times.length) return time;
  const near = 1e-6;
  if (by > 0) return times.find((key) => key > time + near) ?? times[0];
  return [...times].reverse().find((key) => key < time - near) ?? times[times.length - 1];
}
