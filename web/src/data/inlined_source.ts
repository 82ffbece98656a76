/** The report's source: packs inlined in the document, followed by blending in the browser. */

import { readAbout, type About, type Severity } from "./about.ts";
import { Blender } from "./blend.ts";
import { readBody, readCloth, readLayers, type BodyMesh, type Cloth } from "./meshes.ts";
import { inflate, readPack, type Pack } from "./pack.ts";
import type { Answers, Requests } from "./schema.ts";
import type { Faults, Followed, ShapeQuery, Source, Task } from "./source.ts";

const PACKS = 'script[type="application/x-dressform-pack"]';
const SAME = 1e-6; // weights that differ by less are the same shape

export class InlinedSource implements Source {
  readonly isLive = false;
  #about: About | null = null;
  #body: BodyMesh | null = null;
  readonly #cloths = new Map<string, Cloth>();
  /** Layers by garment: per stored shape (or null, for every shape) its values by name. */
  readonly #stored = new Map<string, Map<number | null, Map<string, Float32Array>>>();
  readonly #blenders = new Map<string, Blender>();
  #bodyBlender: Blender | null = null;
  readonly #points = new Map<string, Float32Array>();
  #opening: Promise<void> | null = null;

  static isHere(): boolean {
    return document.querySelector(PACKS) !== null;
  }

  async about(): Promise<About> {
    await this.#open();
    if (!this.#about) throw new Error("The report lacks its description.");
    return this.#about;
  }

  async body(_base: number): Promise<BodyMesh> {
    await this.#open();
    if (!this.#body) throw new Error("The report lacks its body.");
    return this.#body;
  }

  async cloth(_base: number, key: string): Promise<Cloth> {
    await this.#open();
    const cloth = this.#cloths.get(key);
    if (!cloth) throw new Error(`The report lacks the garment ${key}.`);
    return cloth;
  }

  follow(request: ShapeQuery, done: (followed: Followed) => void): void {
    if (!this.#bodyBlender) return;
    this.#points.clear();
    for (const key of request.garments) {
      const blender = this.#blenders.get(key);
      if (blender) this.#points.set(key, blender.moveTo(request.weights));
    }
    done({ body: this.#bodyBlender.moveTo(request.weights), cloths: this.#points });
  }

  async outline(_base: number, weights: readonly number[]): Promise<Float32Array | null> {
    return this.#body && new Blender(this.#body).moveTo(weights);
  }

  async faults(request: ShapeQuery): Promise<Faults | null> {
    const about = await this.about();
    const layers = new Map<string, Float32Array>();
    const measuredAt: Record<string, string> = {};
    const severity: Record<string, Severity> = {};
    for (const key of request.garments) {
      const stored = this.#stored.get(key);
      if (!stored) continue;
      const shapes = [...stored.keys()].filter((shape): shape is number => shape !== null);
      const nearest = nearestShape(about, shapes, request.weights);
      for (const [name, values] of stored.get(null) ?? []) layers.set(`${name}/${key}`, values);
      if (nearest === null) continue;
      for (const [name, values] of stored.get(nearest.shape) ?? []) layers.set(`${name}/${key}`, values);
      const shape = about.shapes[nearest.shape];
      if (nearest.distance > SAME) measuredAt[key] = shape.label;
      else severity[key] = shape.severity[key] ?? "";
    }
    return { layers, figures: {}, girths: {}, severity, measuredAt };
  }

  request<K extends keyof Requests>(what: K): Task<Answers[K]> {
    const words = `A report has no server behind it: "${what}" needs dressform show.`;
    return { result: Promise.reject(new Error(words)), cancel: () => undefined };
  }

  // All data are here already: nothing changes later, takes long or breaks off.
  onAbout(): void {}
  onTrouble(): void {}
  onProgress(): void {}
  forget(): void {}

  #open(): Promise<void> {
    this.#opening ??= this.#readAll();
    return this.#opening;
  }

  async #readAll(): Promise<void> {
    const scripts = [...document.querySelectorAll<HTMLScriptElement>(PACKS)];
    const packs = await Promise.all(scripts.map(async (script) => readPack(await inflate(script.textContent ?? ""))));
    for (const pack of packs) this.#take(pack);
  }

  #take(pack: Pack): void {
    if (pack.kind === "about") this.#about = readAbout(pack.header);
    if (pack.kind === "body") {
      this.#body = readBody(pack);
      this.#bodyBlender = new Blender(this.#body);
    }
    if (pack.kind === "cloth") {
      const cloth = readCloth(pack);
      this.#cloths.set(cloth.key, cloth);
      this.#blenders.set(cloth.key, new Blender(cloth));
    }
    if (pack.kind === "layers") {
      const key = String(pack.header.garment);
      const shapes = this.#stored.get(key) ?? new Map<number | null, Map<string, Float32Array>>();
      shapes.set(pack.header.shape as number | null, readLayers(pack));
      this.#stored.set(key, shapes);
    }
  }
}

/** The stored shape nearest to `weights`, each slider in parts of its interval, and how far it is. */
export function nearestShape(
  about: About,
  shapes: readonly number[],
  weights: readonly number[],
): { shape: number; distance: number } | null {
  let best: { shape: number; distance: number } | null = null;
  for (const shape of shapes) {
    const stored = about.shapes[shape].weights;
    const distance = Math.hypot(
      ...about.sliders.map((slider, k) => (weights[k] - stored[k]) / (slider.high - slider.low || 1)),
    );
    if (!best || distance < best.distance) best = { shape, distance };
  }
  return best;
}
