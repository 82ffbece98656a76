/** Poses: an animation of the body file, stepped through, moved along or played. */

import type { Desk } from "../app/desk.ts";
import { button, h, replace } from "../dom.ts";
import type { AnimationAbout } from "../data/about.ts";

const MS = 1000;
const STEP = 0.01;
const STILL = -1;

export function makePoses(desk: Desk): HTMLElement | null {
  const { store } = desk;
  const { about } = store.now;
  if (!about.can.includes("pose") || !about.animations.length) return null;
  const choice = h<HTMLSelectElement>(
    "select",
    { "aria-label": "Pose" },
    h("option", { value: STILL }, "as modelled"),
    about.animations.map(({ name }, i) => h("option", { value: i }, name.replaceAll("_", " "))),
  );
  const time = h<HTMLInputElement>("input", { type: "range", min: 0, step: STEP, value: 0, "aria-label": "Moment of the animation, seconds" });
  const play = button("Play", () => (playing ? stop() : start()));
  const moves = h("span.pose-moves", { hidden: true }, button("‹", () => void step(-1), { "aria-label": "Key before" }), time, button("›", () => void step(1), { "aria-label": "Next key" }), play);
  let playing = 0;
  const keys = new Map<number, number[]>();

  choice.addEventListener("change", () => {
    stop();
    const animation = Number(choice.value);
    store.set({ pose: animation === STILL ? null : { animation, time: 0 } });
  });
  time.addEventListener("input", () => {
    stop();
    const { pose } = store.now;
    if (pose) store.set({ pose: { ...pose, time: time.valueAsNumber } });
  });
  store.watch(["pose"], ({ pose }) => {
    choice.value = String(pose?.animation ?? STILL);
    moves.hidden = !pose;
    if (!pose) {
      stop();
      return;
    }
    time.max = String(about.animations[pose.animation].duration);
    time.value = String(pose.time);
  });
  return h("div.poses", {}, h("label.field-row", {}, h("span", {}, "Pose"), choice), moves);

  function start(): void {
    const { pose } = store.now;
    if (!pose) return;
    replace(play, "Stop");
    const began = performance.now() - MS * pose.time;
    const go = (now: number) => {
      const { pose: at } = store.now;
      if (!at) return;
      store.set({ pose: { ...at, time: momentOf(about.animations[at.animation], (now - began) / MS) } });
      playing = requestAnimationFrame(go);
    };
    playing = requestAnimationFrame(go);
  }

  function stop(): void {
    cancelAnimationFrame(playing);
    playing = 0;
    replace(play, "Play");
  }

  /** To the animation's next key, or the one before. */
  async function step(by: 1 | -1): Promise<void> {
    stop();
    const { pose } = store.now;
    if (!pose) return;
    try {
      if (!keys.has(pose.animation)) {
        const pack = await desk.source.ask("pose", { animation: pose.animation }).result;
        if (pack) keys.set(pose.animation, pack.header.times as number[]);
      }
      store.set({ pose: { ...pose, time: keyBeside(keys.get(pose.animation) ?? [], pose.time, by) } });
    } catch (error) {
      desk.notices.fail((error as Error).message);
    }
  }
}

/** A moment of an animation that goes round and round. */
export function momentOf({ duration }: AnimationAbout, seconds: number): number {
  return duration > 0 ? seconds % duration : 0;
}

/** The next key after a moment, or the one before it; at the ends it goes round. */
export function keyBeside(times: readonly number[], time: number, by: 1 | -1): number {
  if (!times.length) return time;
  const near = 1e-6;
  if (by > 0) return times.find((key) => key > time + near) ?? times[0];
  return [...times].reverse().find((key) => key < time - near) ?? times[times.length - 1];
}
