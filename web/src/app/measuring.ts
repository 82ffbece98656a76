/** Asks for faults when the sliders rest, and colours the surface by them. */

import { BODY } from "../stage/stage.ts";
import { clearances } from "../data/clearance.ts";
import type { PoseChoice, ShapeQuery } from "../data/source.ts";
import { drawnKeys, standing, type State } from "../state.ts";
import { scaleOf } from "../draw/scale.ts";
import type { Context } from "../context.ts";
import { layerOf } from "../naming.ts";
import type { ShapeUpdates } from "./shape_updates.ts";

const REST_MS = 140;
const CLEARANCE = "clearance";
const MM = 1000;

export class Measuring {
  readonly #context: Context;
  readonly #shapes: ShapeUpdates;
  #timer = 0;
  #isAsked = false;

  constructor(context: Context, shapes: ShapeUpdates) {
    this.#context = context;
    this.#shapes = shapes;
    context.store.on(["weights", "joints", "base", "worn", "comparison", "about"], () => this.#later());
    context.store.on(["pose"], ({ pose }, before) => (isMoving(pose, before.pose) ? this.#alongside() : this.#later()));
    context.store.on(["layer"], () => this.#later(0));
    shapes.onMeshes = () => this.#later(0);
  }

  #later(wait = REST_MS): void {
    const { store } = this.#context;
    if (store.now.isMeasured) store.set({ isMeasured: false });
    clearTimeout(this.#timer);
    if (!store.now.isConnected) return;
    this.#timer = window.setTimeout(() => void this.#measure(), wait);
  }

  /** While an animation goes on: measure the moment that is shown as soon as the last one is answered. */
  #alongside(): void {
    clearTimeout(this.#timer);
    if (!this.#isAsked && this.#context.store.now.isConnected) void this.#measure();
    this.#timer = window.setTimeout(() => void this.#measure(), REST_MS); // where it comes to rest
  }

  async #measure(): Promise<void> {
    const { store, source, notices } = this.#context;
    const request = this.#shapes.request();
    const { layer } = store.now;
    this.#isAsked = true;
    try {
      const faults = await source.faults(request, layer ? [layer] : []);
      if (!faults || !isOf(request, store.now)) return;
      store.set({ faults, isMeasured: true });
    } catch (error) {
      notices.fail(error);
    } finally {
      this.#isAsked = false;
    }
    this.colour();
  }

  /** Colour every surface by the layer that is chosen. */
  colour(): void {
    const { store, stage } = this.#context;
    const { about, layer: name, focus } = store.now;
    const layer = layerOf(about, name);
    const scale = layer ? scaleOf(layer) : null;
    stage.read(layer?.on ?? null);
    for (const key of drawnKeys(store.now)) {
      stage.show(key, layer?.on === "cloth" ? this.#values(layer.name, key) : null, scale);
    }
    stage.show(BODY, layer?.on === "body" ? this.#values(layer.name, focus) : null, scale);
  }

  #values(name: string, key: string): Float32Array | null {
    const found = this.#context.store.now.faults?.layers.get(`${name}/${key}`) ?? null;
    if (name !== CLEARANCE || found) return found;
    return this.#clearance(key);
  }

  /** Clearance at the shape that is shown, computed here from the feet. */
  #clearance(key: string): Float32Array | null {
    const { surfaces } = this.#context.stage;
    const cloth = surfaces.get(key), body = surfaces.get(BODY);
    const feet = this.#shapes.cloths.get(key)?.feet;
    if (!cloth || !body || !feet) return null;
    const out = new Float32Array(cloth.points.length / 3);
    clearances(cloth.points, body.points, body.normals, feet, out);
    for (let i = 0; i < out.length; i++) out[i] *= MM;
    return out;
  }
}

/** Whether what was measured is still shown; a moment of the same animation that is a little late counts as such. */
function isOf(request: ShapeQuery, state: State): boolean {
  const pose = standing(state);
  return state.weights === request.weights && (pose === request.pose || isMoving(pose, request.pose));
}

/** Whether both are moments of one animation. */
function isMoving(pose: PoseChoice | null, before: PoseChoice | null): boolean {
  return !!pose && !!before && "animation" in pose && "animation" in before && pose.animation === before.animation;
}
