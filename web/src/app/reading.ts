/** Keeps what is read off the surface up to date: asks for faults when the sliders rest, and colours by them. */

import { BODY } from "../stage/stage.ts";
import { clearances } from "../data/clearance.ts";
import { drawnKeys } from "../state.ts";
import { scaleOf } from "../draw/scale.ts";
import { layerOf, type Desk } from "./desk.ts";
import type { Following } from "./following.ts";

const REST_MS = 140;
const CLEARANCE = "clearance";
const MM = 1000;

export class Reading {
  readonly #desk: Desk;
  readonly #following: Following;
  #timer = 0;

  constructor(desk: Desk, following: Following) {
    this.#desk = desk;
    this.#following = following;
    desk.store.on(["weights", "base", "worn", "comparison", "about"], () => this.#later());
    desk.store.on(["layer"], () => this.#later(0));
    following.onMeshes = () => this.#later(0);
  }

  #later(wait = REST_MS): void {
    if (this.#desk.store.now.isMeasured) this.#desk.store.set({ isMeasured: false });
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#measure(), wait);
  }

  async #measure(): Promise<void> {
    const { store, source, notices } = this.#desk;
    const request = this.#following.request();
    const { layer } = store.now;
    try {
      const faults = await source.faults({ ...request, pose: null }, layer ? [layer] : []);
      if (!faults || store.now.weights !== request.weights) return;
      store.set({ faults, isMeasured: true });
    } catch (error) {
      notices.fail((error as Error).message);
    }
    this.colour();
  }

  /** Colour every surface by the layer that is chosen. */
  colour(): void {
    const { store, stage } = this.#desk;
    const { about, layer: name, focus } = store.now;
    const layer = layerOf(about, name);
    const scale = layer ? scaleOf(layer) : null;
    stage.light.readColours(layer !== null);
    for (const key of drawnKeys(store.now)) {
      stage.show(key, layer?.on === "cloth" ? this.#values(layer.name, key) : null, scale);
    }
    stage.show(BODY, layer?.on === "body" ? this.#values(layer.name, focus) : null, scale);
  }

  #values(name: string, key: string): Float32Array | null {
    const found = this.#desk.store.now.faults?.layers.get(`${name}/${key}`) ?? null;
    if (name !== CLEARANCE || found) return found;
    return this.#clearance(key);
  }

  /** Clearance at the shape that is shown, computed here from the feet. */
  #clearance(key: string): Float32Array | null {
    const { surfaces } = this.#desk.stage;
    const cloth = surfaces.get(key), body = surfaces.get(BODY);
    const feet = this.#following.cloths.get(key)?.feet;
    if (!cloth || !body || !feet) return null;
    const out = new Float32Array(cloth.points.length / 3);
    clearances(cloth.points, body.points, body.normals, feet, out);
    for (let i = 0; i < out.length; i++) out[i] *= MM;
    return out;
  }
}

