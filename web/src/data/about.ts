/** What a page is told about a check before anything is drawn: the twin of `report/page/data.py`. */

/** Empty where nothing was measured yet. */
export type Severity = "" | "clean" | "slight" | "moderate" | "grave";
export const SEVERITIES: readonly Severity[] = ["", "clean", "slight", "moderate", "grave"];

export interface Slider {
  name: string;
  low: number;
  high: number;
  place?: [number, number, number];
}

/** How a garment follows, as `edit` takes it; lengths in mm. */
export interface Settings {
  strength: number;
  parts: Record<string, number>;
  falloff_mm: number;
  hard: string[];
  margin_mm: number;
  ease: string;
  rotation_share: number | null;
  /** Whether a mask is painted. */
  painted: boolean;
}

export interface GarmentAbout {
  key: string;
  name: string;
  vertices: number;
  triangles: number;
  parts: string[];
  colours?: string[];
  worn?: boolean;
  severity: Severity;
  verdict: string;
  /** Index of its worst shape, where it was checked. */
  worst?: number | null;
  method: string;
  ease: string;
  variant_of?: string;
  variant?: string;
  /** Live: grows with every alteration. */
  revision?: number;
  settings?: Settings;
}

export interface LayerAbout {
  name: string;
  label: string;
  unit: string;
  on: "cloth" | "body";
  kind: "rising" | "diverging" | "classes";
  low: number;
  high: number;
  classes?: string[];
  meaning: string;
}

export interface ShapeAbout {
  label: string;
  weights: number[];
  severity: Record<string, Severity>;
}

export interface ShareAbout {
  cause: string;
  share: number;
  alone: number;
  counterfactual: string;
}

export interface ClusterAbout {
  id: string;
  garment: string;
  fault: string;
  fault_words: string;
  severity: Severity;
  value: number;
  unit: string;
  region: string;
  side: string;
  height_mm: number;
  part: string;
  position: [number, number, number];
  vertex: number;
  shape: { label: string; weights: number[] };
  /** On how many shapes it was seen. */
  seen?: number;
  cause: string;
  owner: string;
  shares: ShareAbout[];
  where: string;
  advice: string;
  repair: string;
  picture?: string;
}

export interface SliderCurve {
  at: number[];
  values: Record<string, number[]>;
}

export interface GarmentCharts {
  weights?: Record<string, SliderCurve>;
  clearance?: { edges: number[]; base?: number[]; before: number[]; after: number[] | null } | null;
  pairs?: { fault: string; unit: string; values: (number | null)[][]; weights: ([number, number] | null)[][] };
}

/** A place where several garments fail. */
export interface SharedAbout {
  fault: string;
  region: string;
  side: string;
  height_mm: number;
  clusters: string[];
  suspect: string;
  sentence: string;
}

export interface AnimationAbout {
  name: string;
  duration: number;
  count: number;
}

export type Ability = "edit" | "case" | "export" | "measure" | "pose" | "fit" | "tape" | "save";

export interface About {
  format: string;
  life: "live" | "report";
  made: string;
  versions: Record<string, string>;
  settings: Record<string, unknown>;
  body: { name: string; file: string; sha256: string; stature_m: number };
  bases: string[];
  base: number;
  sliders: Slider[];
  garments: GarmentAbout[];
  layers: LayerAbout[];
  shapes: ShapeAbout[];
  clusters: ClusterAbout[];
  shared: SharedAbout[];
  charts: Record<string, GarmentCharts>;
  measures: string[];
  animations: AnimationAbout[];
  can: Ability[];
  cautions: string[];
  /** Live: names of the joints that can be turned. */
  joints?: string[];
  /** Live: what the check over the whole range is doing. */
  check?: { state: "running" | "done" | "stopped" | "failed" | "none" };
}

export const FORMAT = "dressform-page/1";

export class AboutError extends Error {}

/** The header of an "about" pack as an About; what may be missing is made empty. */
export function readAbout(header: Readonly<Record<string, unknown>>): About {
  if (header.format !== FORMAT) {
    throw new AboutError(`The data are written as ${String(header.format)}; this page reads ${FORMAT}.`);
  }
  const empty = { bases: [], base: 0, shapes: [], clusters: [], shared: [], charts: {}, measures: [], animations: [], can: [] };
  return { ...empty, cautions: [], layers: [], garments: [], sliders: [], ...header } as unknown as About;
}

export function garmentOf(about: About, key: string): GarmentAbout | undefined {
  return about.garments.find((garment) => garment.key === key);
}

/** Garments with the gravest first; equal ones stay in order. */
export function gravestFirst<T extends { severity: Severity }>(items: readonly T[]): T[] {
  return [...items].sort((a, b) => SEVERITIES.indexOf(b.severity) - SEVERITIES.indexOf(a.severity));
}
