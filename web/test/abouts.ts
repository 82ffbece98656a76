/** Abouts made for tests. */

import { FORMAT, readAbout, type About, type ClusterAbout, type GarmentAbout, type LayerAbout, type Place, type Severity } from "../src/data/about.ts";
import type { Slider } from "../src/data/schema.ts";

/** An About of nothing. */
export const EMPTY = {
  format: FORMAT, life: "report", made: "", versions: {}, settings: {}, body: {}, bases: [], base: 0, sliders: [],
  garments: [], layers: [], shapes: [], clusters: [], shared: [], actions: [], failed: [], charts: {}, measures: [], animations: [], stances: [], posed: [], can: [],
  cautions: [], joints: [], joint_sliders: [], check: { state: "none" },
};

export const DEPTH: LayerAbout = { name: "depth", label: "", unit: "mm", on: "cloth", kind: "rising", low: 0, high: 1, meaning: "", classes: [] };

export function garment(key: string, severity: Severity = "clean", more: Partial<GarmentAbout> = {}): GarmentAbout {
  return {
    key, name: key, file: "", sha256: "", vertices: 3, triangles: 1, parts: [], severity, verdict: "", worst: null,
    method: "smooth", ease: "keep", colours: [], worn: false, notes: [], variant_of: "", variant: "", revision: 0,
    settings: null, ...more,
  };
}

export function slider(name: string, y = 0, low = -0.5, high = 1): Slider {
  return { name, low, high, position_m: [0, y, 0], ends: [0] };
}

export function about(more: Partial<About> = {}): About {
  const sliders = [slider("belly", 1.1), slider("legs", 0.5), slider("neck", 1.5), slider("arms", 1.2)];
  const header = { ...EMPTY, sliders, garments: [garment("coat"), garment("clogs", "grave")] };
  return { ...readAbout(header), ...more };
}

export function complaint(id: string, key: string, severity: Severity, more: Partial<ClusterAbout> = {}): ClusterAbout {
  const place: Place = {
    position_m: [0, 1, 0.2], vertex: 1, region: "belly", part: "", side: "front", height_mm: 1000, area_cm2: 3,
    fault: "exposed", severity, value: 3, unit: "cm²",
  };
  return {
    id, name: id, garment: key, place, fault_words: "skin shows", shape: { label: "worst", weights: [1, 0, 0, 0] }, stance: "", seen: 1,
    cause: "", owner: "", because: "", shares: [], where: "belly, front", advice: "", repair: "", evidence: [], picture: "", ...more,
  };
}
