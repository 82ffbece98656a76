/** The value under the pointer, with its place, beside the pointer. */

import type { Context, Meshes } from "../context.ts";
import { layerOf, nameOf, spaced } from "../naming.ts";
import { garmentOf } from "../data/about.ts";
import { inWords } from "../draw/scale.ts";
import { h, replace } from "../dom.ts";
import { valueAt, vertexAt } from "../stage/pick.ts";
import { BODY, type Pick } from "../stage/stage.ts";
import type { Legend } from "./legend.ts";

const CM = 100;
const NO_REGION = 255;
const MIDDLE = 0.03; // metres from the middle plane that count as neither left nor right

export class PointerNote {
  readonly element = h("div.pointer-note", { hidden: true });
  readonly #context: Context;
  readonly #meshes: Meshes;
  readonly #legend: Legend;
  #waiting: { x: number; y: number } | null = null;

  constructor(context: Context, meshes: Meshes, legend: Legend) {
    this.#context = context;
    this.#meshes = meshes;
    this.#legend = legend;
  }

  /** Look at the next frame what is there; a later place wins. */
  hover(x: number, y: number): void {
    const first = this.#waiting === null;
    this.#waiting = { x, y };
    if (first) requestAnimationFrame(() => this.#look());
  }

  /** Put the mark where the surface was pressed, or take it away. */
  mark(x: number, y: number): void {
    const pick = this.#context.stage.pick(x, y);
    const surface = pick && this.#context.stage.surfaces.get(pick.key);
    const mark = surface && {
      garment: pick.key,
      position: pick.position.toArray() as [number, number, number],
      vertex: vertexAt(pick.hit, surface.faces),
      words: [this.#what(pick), placeWords(pick.position)].join(", "),
    };
    this.#context.store.set({ mark: mark ?? null, cluster: null });
  }

  leave(): void {
    this.#waiting = null;
    this.element.hidden = true;
    this.#legend.point(null);
  }

  #look(): void {
    const at = this.#waiting;
    this.#waiting = null;
    if (!at) return;
    const pick = this.#context.stage.pick(at.x, at.y);
    this.element.hidden = pick === null;
    this.#legend.point(pick ? this.#value(pick) : null);
    if (!pick) return;
    const { about, layer: name } = this.#context.store.now;
    const layer = layerOf(about, name);
    const value = this.#value(pick);
    replace(
      this.element,
      layer && value !== null && h("b", {}, inWords(layer, value)),
      h("span", {}, [this.#what(pick), placeWords(pick.position)].join(", ")),
    );
    const { clientWidth: width } = this.#context.stage.canvas;
    this.element.style.transform = `translate(${at.x}px, ${at.y}px)`;
    this.element.classList.toggle("to-left", at.x > width / 2);
  }

  #value({ key, hit }: Pick): number | null {
    const surface = this.#context.stage.surfaces.get(key);
    if (!surface?.values) return null;
    const layer = layerOf(this.#context.store.now.about, this.#context.store.now.layer);
    if (layer?.kind === "classes") return surface.values[vertexAt(hit, surface.faces)];
    return valueAt(hit, surface.faces, surface.values);
  }

  /** The garment's part, or the body's region. */
  #what({ key, hit }: Pick): string {
    const { about } = this.#context.store.now;
    if (key !== BODY) {
      const part = this.#meshes.cloths.get(key)?.faceParts?.[hit.face];
      const partName = part === undefined ? undefined : garmentOf(about, key)?.parts[part];
      return [nameOf(about, key), partName && spaced(partName)].filter(Boolean).join(", ");
    }
    const body = this.#meshes.body;
    const region = body?.region?.[vertexAt(hit, body.faces)];
    if (region === undefined || region === NO_REGION) return "body";
    return spaced(body?.regions[region] ?? "body");
  }
}

/** Where a point is, as a tailor says it: the wearer's own sides, height above the ground. */
export function placeWords({ x, y, z }: { x: number; y: number; z: number }): string {
  const side = x > MIDDLE ? "left" : x < -MIDDLE ? "right" : "middle";
  return `${z >= 0 ? "front" : "back"} ${side}, ${Math.round(y * CM)} cm up`;
}
