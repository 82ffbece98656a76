/** The strength brush: strokes on the cloth change a mask, which is sent when the pointer lifts. */

import type { Context } from "../context.ts";
import type { LayerAbout } from "../data/about.ts";
import { rootOf } from "../naming.ts";
import { scaleOf } from "../draw/scale.ts";
import { dab } from "../stage/dab.ts";
import { BODY } from "../stage/stage.ts";

const MM = 0.001;
const DIGITS = 1000;
const FULL = 1;
const STRENGTH: LayerAbout = { name: "strength", label: "strength", unit: "", on: "cloth", kind: "rising", low: 0, high: 1, meaning: "", classes: [] };

export class Painter {
  radiusMm = 40;
  value = 0;
  readonly #context: Context;
  readonly #masks = new Map<string, Float32Array>();
  /** Garment on which the stroke began; empty for none. */
  #under = "";
  /** Garment whose mask the stroke has changed. */
  #stroked = "";

  constructor(context: Context) {
    this.#context = context;
    context.store.on(["painting"], ({ painting, about }) => {
      const offered = about.layers.some(({ name }) => name === STRENGTH.name);
      if (painting) context.store.set({ comparison: null, layer: offered ? STRENGTH.name : context.store.now.layer });
    });
  }

  /** A stroke begins: it paints the garment that the pointer is on, which is looked at from then on. */
  press(x: number, y: number): void {
    const { stage, store } = this.#context;
    const key = stage.pick(x, y)?.key ?? BODY;
    this.#under = key === BODY ? "" : key;
    if (this.#under && this.#under !== store.now.focus) store.set({ focus: this.#under });
    this.stroke(x, y);
  }

  /** Paint where the pointer is, as long as it is on the garment on which the stroke began. */
  stroke(x: number, y: number): void {
    const { stage } = this.#context;
    const pick = stage.pick(x, y);
    if (!this.#under || pick?.key !== this.#under) return;
    const surface = stage.surfaces.get(pick.key)!;
    const root = this.#root(pick.key);
    const mask = this.#maskOf(root, surface.points.length / 3);
    const corner = 3 * surface.faces[3 * pick.hit.face];
    const facing = [0, 1, 2].map((axis) => surface.normals[corner + axis]) as [number, number, number];
    const centre = pick.position.toArray() as [number, number, number];
    if (!dab(surface.points, surface.normals, { centre, facing, radius: this.radiusMm * MM, value: this.value }, mask)) return;
    this.#stroked = root;
    stage.show(pick.key, mask, scaleOf(STRENGTH));
  }

  #maskOf(root: string, count: number): Float32Array {
    const known = this.#masks.get(root);
    if (known?.length === count) return known;
    const mask = new Float32Array(count).fill(FULL);
    this.#masks.set(root, mask);
    return mask;
  }

  /** The stroke ends: what was painted is sent. */
  async release(): Promise<void> {
    const key = this.#stroked;
    const mask = this.#masks.get(key);
    this.#stroked = "";
    if (!mask) return;
    await this.#send(key, Array.from(mask, (strength) => Math.round(strength * DIGITS) / DIGITS));
  }

  async clear(key: string): Promise<void> {
    this.#masks.delete(key);
    await this.#send(key, null);
  }

  forget(keys: readonly string[]): void {
    for (const key of keys) this.#masks.delete(key);
  }

  async #send(garment: string, mask: number[] | null): Promise<void> {
    try {
      await this.#context.source.request("edit", { garment, settings: { mask } }).result;
    } catch (error) {
      this.#context.notices.fail(error);
    }
  }

  #root(key: string): string {
    return rootOf(this.#context.store.now.about, key);
  }
}
