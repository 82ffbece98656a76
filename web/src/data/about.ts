/** What a page is told about a check before anything is drawn: read from the header of a pack, and checked. */

import { ABOUT_KEYS, FORMAT, type About, type GarmentAbout, type Severity } from "./schema.ts";

export { FORMAT } from "./schema.ts";
export type {
  About,
  AnimationAbout,
  ActionAbout,
  ClusterAbout,
  GarmentAbout,
  GarmentCharts,
  LayerAbout,
  Place,
  PosedShapeAbout,
  SettingsAbout,
  Severity,
} from "./schema.ts";

/** By rising severity; empty where nothing was measured yet. */
export const SEVERITIES: readonly Severity[] = ["", "clean", "slight", "moderate", "grave"];

export class AboutError extends Error {}

type Header = Readonly<Record<string, unknown>>;

/** The header of an "about" pack as an About. */
export function readAbout(header: Header): About {
  if (header.format !== FORMAT) {
    throw new AboutError(`The data are written as ${String(header.format)}; this page reads ${FORMAT}.`);
  }
  if (!isAbout(header)) {
    throw new AboutError(`The data have no usable "${String(wrongKey(header))}". Make them again.`);
  }
  return header;
}

function isAbout(header: Header): header is Header & About {
  return wrongKey(header) === undefined;
}

/** The first key that is missing or holds another sort of value. */
function wrongKey(header: Header): string | undefined {
  return Object.entries(ABOUT_KEYS).find(([key, sort]) => sortOf(header[key]) !== sort)?.[0];
}

function sortOf(value: unknown): string {
  if (Array.isArray(value)) return "array";
  return value === null ? "null" : typeof value;
}

export function garmentOf(about: About, key: string): GarmentAbout | undefined {
  return about.garments.find((garment) => garment.key === key);
}

/** Items with the gravest first; equal ones stay in order. */
export function gravestFirst<T>(items: readonly T[], severityOf: (item: T) => Severity): T[] {
  return [...items].sort((a, b) => SEVERITIES.indexOf(severityOf(b)) - SEVERITIES.indexOf(severityOf(a)));
}
