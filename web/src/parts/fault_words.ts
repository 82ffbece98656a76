/** What people call each fault, and the unit that they read it in: the twin of `units.py`. */

import type { About } from "../data/about.ts";

const WORDS: Readonly<Record<string, readonly [string, string]>> = {
  exposed: ["skin shows", "cm²"],
  inside: ["cloth inside the body", "%"],
  depth: ["cloth deep in the body", "mm"],
  pucker: ["puckered", ""],
  stretch: ["stretched", "%"],
  clearance: ["clearance change", "mm"],
  folded: ["folded over", "triangles"],
  crossing: ["cuts through itself", "pairs"],
  seam: ["seam open", "mm"],
  hard: ["hard part bent", "mm"],
  layers: ["layers swapped", "vertices"],
};

export function faultWords(about: About, fault: string): string {
  return about.clusters.find((cluster) => cluster.place.fault === fault)?.fault_words ?? WORDS[fault]?.[0] ?? fault;
}

export function unitOf(about: About, fault: string): string {
  return about.clusters.find((cluster) => cluster.place.fault === fault)?.place.unit ?? WORDS[fault]?.[1] ?? "";
}
