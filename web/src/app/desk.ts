/** What every part of the page is given: the state, the source, the stage, and a way to speak. */

import { garmentOf, type About, type ClusterAbout, type LayerAbout } from "../data/about.ts";
import type { Source } from "../data/source.ts";
import type { Stage } from "../stage/stage.ts";
import type { Store } from "../state.ts";
import type { Notices } from "../parts/notices.ts";

export interface Desk {
  readonly store: Store;
  readonly source: Source;
  readonly stage: Stage;
  readonly notices: Notices;
  /** Whether movement should be kept still. */
  readonly calm: () => boolean;
}

export function layerOf(about: About, name: string | null): LayerAbout | null {
  return about.layers.find((layer) => layer.name === name) ?? null;
}

export function clusterOf(about: About, id: string | null): ClusterAbout | null {
  return about.clusters.find((cluster) => cluster.id === id) ?? null;
}

/** What a person calls a garment; a variant says how it differs from the first. */
export function nameOf(about: About, key: string): string {
  const garment = garmentOf(about, key);
  if (!garment) return key;
  const name = garment.name.replaceAll("_", " ");
  const isFirst = about.garments.find((other) => other.name === garment.name) === garment;
  return isFirst ? name : `${name}, ${garment.variant ?? garment.method}`;
}

/** Weights that are not 0, in words, the largest first: "belly 1, hips 0.5"; at most so many are named. */
export function shapeWords(about: About, weights: readonly number[], most = Infinity): string {
  const turned = about.sliders
    .map(({ name }, k) => ({ name, weight: weights[k] }))
    .filter(({ weight }) => Math.abs(weight) >= 0.005)
    .sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  if (!turned.length) return "the base body";
  const named = turned.slice(0, most).map(({ name, weight }) => `${name.replaceAll("_", " ")} ${trimmed(weight)}`).join(", ");
  return turned.length > most ? `${named} and ${turned.length - most} more` : named;
}

function trimmed(weight: number): string {
  return String(Number(weight.toFixed(2))).replace("-", "−");
}
