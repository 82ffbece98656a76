/** While a slider is under the hand, the body's outline at both ends of its tape. */

import type { Desk } from "./desk.ts";
import type { Following } from "./following.ts";
import { isDark } from "../parts/theme.ts";

const REST_MS = 90;

export class Outlining {
  readonly #desk: Desk;
  readonly #following: Following;
  #timer = 0;
  #asked = 0;

  constructor(desk: Desk, following: Following) {
    this.#desk = desk;
    this.#following = following;
    desk.store.on(["slider", "comparison", "pose", "base"], () => this.#later());
  }

  #later(): void {
    this.#asked++;
    clearTimeout(this.#timer);
    const { slider, comparison, pose } = this.#desk.store.now;
    if (slider === null || comparison || pose) this.#desk.stage.showOutline([], isDark());
    else this.#timer = window.setTimeout(() => void this.#ask(slider), REST_MS);
  }

  /** The other sliders as they are, this one at both ends. */
  async #ask(slider: number): Promise<void> {
    const { source, stage, store } = this.#desk;
    const { about, base, weights } = store.now;
    const { low, high } = about.sliders[slider];
    const asked = this.#asked;
    const ends = [low, high].map((end) => source.outline(base, weights.map((weight, k) => (k === slider ? end : weight))));
    const bodies = await Promise.all(ends);
    if (asked !== this.#asked || !this.#following.body) return;
    stage.showOutline(bodies.filter((body) => body !== null), isDark());
  }
}
