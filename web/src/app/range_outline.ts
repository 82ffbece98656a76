/** Draws the body's outline at both ends of the slider that is pointed at. */

import type { Context } from "../context.ts";
import type { ShapeUpdates } from "./shape_updates.ts";
import { isDark } from "../parts/theme.ts";

const REST_MS = 90;

export class RangeOutline {
  readonly #context: Context;
  readonly #shapes: ShapeUpdates;
  #timer = 0;
  #asked = 0;

  constructor(context: Context, shapes: ShapeUpdates) {
    this.#context = context;
    this.#shapes = shapes;
    context.store.on(["slider", "comparison", "pose", "joints", "base"], () => this.#later());
  }

  #later(): void {
    this.#asked++;
    clearTimeout(this.#timer);
    const { about, slider, comparison, pose, joints } = this.#context.store.now;
    const isMorph = slider !== null && slider < about.sliders.length; // outlines are of morphs in the modelled pose
    if (!isMorph || comparison || pose || joints.some(Boolean)) this.#context.stage.showOutline([], isDark());
    else this.#timer = window.setTimeout(() => void this.#ask(slider), REST_MS);
  }

  /** The other sliders as they are, this one at both ends. */
  async #ask(slider: number): Promise<void> {
    const { source, stage, store } = this.#context;
    const { about, base, weights } = store.now;
    const { low, high } = about.sliders[slider];
    const asked = this.#asked;
    const ends = [low, high].map((end) => source.outline(base, weights.map((weight, k) => (k === slider ? end : weight))));
    const bodies = await Promise.all(ends);
    if (asked !== this.#asked || !this.#shapes.body) return;
    stage.showOutline(bodies.filter((body) => body !== null), isDark());
  }
}
