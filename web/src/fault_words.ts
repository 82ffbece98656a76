/** What people call each fault, the unit that they read it in, and the layer that shows it. */

import type { About } from "./data/about.ts";

interface FaultWords {
  readonly words: string;
  readonly unit: string;
  readonly layer?: string;
}

const FAULTS: Readonly<Record<string, FaultWords>> = {
  exposed: { words: "skin shows", unit: "cm²", layer: "exposed" },
  inside: { words: "cloth inside the body", unit: "%", layer: "depth" },
  depth: { words: "cloth deep in the body", unit: "mm", layer: "depth" },
  pucker: { words: "puckered", unit: "", layer: "pucker" },
  stretch: { words: "stretched", unit: "%", layer: "stretch" },
  clearance: { words: "clearance change", unit: "mm", layer: "clearance_change" },
  folded: { words: "folded over", unit: "triangles" },
  crossing: { words: "cuts through itself", unit: "pairs" },
  seam: { words: "seam open", unit: "mm" },
  hard: { words: "hard part bent", unit: "mm" },
  layers: { words: "layers swapped", unit: "vertices" },
};
const CLEARANCE = "clearance"; // this layer is about the distance, the fault about its change

export function faultWords(about: About, fault: string): string {
  return about.clusters.find((cluster) => cluster.place.fault === fault)?.fault_words ?? FAULTS[fault]?.words ?? fault;
}

export function unitOf(about: About, fault: string): string {
  return about.clusters.find((cluster) => cluster.place.fault === fault)?.place.unit ?? FAULTS[fault]?.unit ?? "";
}

/** The layer that shows a fault, where the About offers it. */
export function layerOfFault(about: About, fault: string): string | null {
  const layer = FAULTS[fault]?.layer;
  return about.layers.some(({ name }) => name === layer) ? layer! : null;
}

/** Faults that a layer may stand for, the nearest first. */
export function faultsOfLayer(layer: string): string[] {
  if (layer === CLEARANCE) return [CLEARANCE];
  const own = Object.keys(FAULTS).filter((fault) => FAULTS[fault].layer === layer);
  return own.sort((a, b) => Number(b === layer) - Number(a === layer));
}
