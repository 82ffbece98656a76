/** The strength brush: strokes on the cloth change a mask, which is sent when the hand lifts. */

import type { Desk } from "../app/desk.ts";
import { garmentOf, type LayerAbout } from "../data/about.ts";
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
  readonly #desk: Desk;
  readonly #masks = new Map<string, Float32Array>();
  #stroked = "";

  constructor(desk: Desk) {
    this.#desk = desk;
    desk.store.on(["painting"], ({ painting, about }) => {
      const offered = about.layers.some(({ name }) => name === STRENGTH.name);
      if (painting) desk.store.set({ comparison: null, layer: offered ? STRENGTH.name : desk.store.now.layer });
    });
  }

  stroke(x: number, y: number): void {
    const { stage, store } = this.#desk;
    const pick = stage.pick(x, y);
    if (!pick || pick.key === BODY || pick.key !== store.now.focus) return;
    const surface = stage.surfaces.get(pick.key)!;
    const root = this.#root(pick.key);
    const count = surface.points.length / 3;
    let mask = this.#masks.get(root);
    if (mask?.length !== count) this.#masks.set(root, (mask = new Float32Array(count).fill(FULL)));
    const corner = 3 * surface.faces[3 * pick.hit.face];
    const facing = [0, 1, 2].map((axis) => surface.normals[corner + axis]) as [number, number, number];
    const centre = pick.position.toArray() as [number, number, number];
    if (!dab(surface.points, surface.normals, { centre, facing, radius: this.radiusMm * MM, value: this.value }, mask)) return;
    this.#stroked = root;
    stage.show(pick.key, mask, scaleOf(STRENGTH));
  }

  /** The hand lifts: what was painted is sent. */
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
      await this.#desk.source.request("edit", { garment, settings: { mask } }).result;
    } catch (error) {
      this.#desk.notices.fail((error as Error).message);
    }
  }

  #root(key: string): string {
    return garmentOf(this.#desk.store.now.about, key)?.variant_of ?? key;
  }
}
