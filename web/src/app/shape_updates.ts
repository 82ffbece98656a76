/** Keeps what is drawn at the shape of the state: fetches meshes once, then asks for vertices; the newest shape wins. */

import { decoded } from "../data/dressed.ts";
import { drawnKeys, standing, type State } from "../state.ts";
import type { ShapeQuery } from "../data/source.ts";
import type { Cloth, BodyMesh } from "../data/meshes.ts";
import type { Context, Meshes } from "../context.ts";

export class ShapeUpdates implements Meshes {
  readonly #context: Context;
  readonly cloths = new Map<string, Cloth>();
  body: BodyMesh | null = null;
  #base = -1;
  #stale = true;
  /** Called when a mesh has come or gone. */
  onMeshes: () => void = () => undefined;
  /** Called when a body has come, before any garment. */
  onBody: () => void = () => undefined;
  /** Milliseconds from asking to standing there, of the last shape. */
  followMs = 0;
  /** Milliseconds from moving a slider to the end of the frame that shows it, of the last one. */
  frameMs = 0;
  #movedAt = 0;
  #shownFor = 0;

  constructor(context: Context) {
    this.#context = context;
    context.stage.beforeFrame = () => this.#askIfStale();
    context.store.on(["weights", "joints", "pose"], () => {
      this.#movedAt = performance.now();
      this.again();
    });
    context.store.on(["worn", "comparison", "base", "about"], (state, before) => void this.#changed(state, before));
  }

  /** Ask once more: the program at once, since its answer is drawn when it comes; what is added up here at the next frame. */
  again(): void {
    this.#stale = true;
    if (this.#context.source.isLive) this.#askIfStale();
    else this.#context.stage.request();
  }

  /** Fetch what the state draws and is not here yet. */
  async load(): Promise<void> {
    const { store, source, stage } = this.#context;
    const { base, about } = store.now;
    if (this.#base !== base) {
      const body = await source.body(base);
      this.#base = base;
      this.body = body;
      this.cloths.clear();
      stage.setBody(body, about.body.stature_m);
      this.onBody();
    }
    const missing = drawnKeys(store.now).filter((key) => !this.cloths.has(key));
    this.#coming(missing, true);
    try {
      await Promise.all(missing.map((key) => this.#loadCloth(base, key)));
    } finally {
      this.#coming(missing, false);
    }
    stage.wear(store.now.worn, store.now.comparison);
    this.onMeshes();
    this.again();
  }

  /** Say which garments cannot be drawn yet. */
  #coming(keys: readonly string[], isComing: boolean): void {
    const { store } = this.#context;
    if (!keys.length) return;
    const others = store.now.coming.filter((key) => !keys.includes(key));
    store.set({ coming: isComing ? [...others, ...keys] : others });
  }

  async #loadCloth(base: number, key: string): Promise<void> {
    const { store, source, stage } = this.#context;
    const cloth = await source.cloth(base, key);
    const images = await decoded(cloth.dressed);
    if (store.now.base !== base) return;
    this.cloths.set(key, cloth);
    stage.setCloth(cloth, store.now.about.garments.findIndex((garment) => garment.key === key), images);
  }

  async #changed(state: State, before: State): Promise<void> {
    for (const garment of state.about.garments) {
      const old = before.about.garments.find((other) => other.key === garment.key);
      if (old && old.revision !== garment.revision) {
        this.#context.source.forget(garment.key);
        this.cloths.delete(garment.key);
      }
    }
    try {
      await this.load();
    } catch (error) {
      this.#context.notices.fail(error);
    }
  }

  #askIfStale(): void {
    if (!this.#stale || !this.body) return;
    this.#stale = false;
    const start = performance.now(), movedAt = this.#movedAt;
    this.#context.source.follow(this.request(), (followed) => {
      this.#context.stage.moveTo(followed);
      this.followMs = performance.now() - start;
      this.#shownFor = movedAt;
    });
  }

  /** A frame has been drawn. */
  drawn(): void {
    if (this.#shownFor) this.frameMs = performance.now() - this.#shownFor;
    this.#shownFor = 0;
  }

  /** The shape that is shown, of the garments that are drawn and here. */
  request(): ShapeQuery {
    const { now } = this.#context.store;
    const garments = drawnKeys(now).filter((key) => this.cloths.has(key));
    return { base: now.base, weights: now.weights, garments, pose: standing(now) };
  }
}
