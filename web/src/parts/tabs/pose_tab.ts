/** The tab of poses: joints turned by hand, or an animation of the body file stepped through, moved along, played. */

import { Euler, MathUtils, Quaternion } from "three";
import type { Context } from "../../context.ts";
import { button, h, replace } from "../../dom.ts";
import { spaced } from "../../naming.ts";
import type { AnimationAbout } from "../../data/about.ts";
import type { Moment, PoseChoice, Quaternion as Turn } from "../../data/source.ts";
import { amount } from "../amount.ts";

const MS = 1000;
const STEP = 0.01;
const NONE = "";
const AXES = [["forward or back", "x"], ["twist", "y"], ["to the side", "z"]] as const;
const FURTHEST = 120; // degrees either way

export function makePoseTab(context: Context): HTMLElement {
  const { about } = context.store.now;
  return h(
    "div.pose-tab",
    {},
    about.animations.length > 0 && animationPart(context),
    jointPart(context),
    button("Back to the modelled pose", () => context.store.set({ pose: null })),
    h("p.quiet-words", {}, "Poses are for looking. Faults are measured in the modelled pose."),
  );
}

function momentOfPose(pose: PoseChoice | null): Moment | null {
  return pose && "animation" in pose ? pose : null;
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
