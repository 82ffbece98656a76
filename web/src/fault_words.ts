/** What people call each fault, the unit that they read it in, and the layer that shows it. */

import type { About } from "./data/about.ts";
import { FAULTS } from "./data/schema.ts";

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
