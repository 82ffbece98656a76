/** The picture in words, for those who hear the page: what it shows now, and its keys. */

import type { Context } from "../context.ts";
import { freshId, h } from "../dom.ts";
import { layerOf, nameOf, shapeWords, poseWords } from "../naming.ts";
import { sideWords } from "./view_buttons.ts";

const SETTLED_MS = 400;
const KEYS = "Keys: arrows turn, with Shift they move; plus and minus come nearer and go back; 1 to 4 show front, left, back and right; Home shows the whole body; 0 comes up close.";

export interface PictureWords {
  readonly element: HTMLElement;
  readonly id: string;
  /** The camera may have moved. */
  later(): void;
}

export function makePictureWords(context: Context): PictureWords {
  const id = freshId();
  const now = h("span");
  const element = h("p.sr", { id }, now, KEYS);
  let timer = 0;
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => (now.textContent = told(context)), SETTLED_MS);
  };
  context.store.watch(["about", "base", "weights", "joints", "pose", "worn", "comparison", "layer", "mark"], later);
  return { element, id, later };
}

function told({ store, stage }: Context): string {
  const { about, base, weights, joints, pose, worn, comparison, layer: name, mark } = store.now;
  const layer = layerOf(about, name);
  const names = worn.map((key) => nameOf(about, key));
  const shown = comparison
    ? `${nameOf(about, comparison.a)} on the left, ${nameOf(about, comparison.b)} on the right`
    : names.length ? `worn: ${names.join(", ")}` : "nothing worn";
  const seen = `${stage.orbit.isFar ? "" : "near by, "}from ${sideWords(stage.orbit.azimuth)}`;
  return [
    `The body ${about.bases[base] ?? about.body.name} at ${shapeWords(about, weights, Infinity, joints)}`,
    pose && `standing: ${poseWords(about, pose)}`,
    shown,
    `seen ${seen}`,
    layer ? `coloured by ${layer.label}` : "in its own colours",
    mark && `a pin at ${mark.words}`,
  ].filter(Boolean).join("; ") + ". ";
}
