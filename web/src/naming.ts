/** Names: what an About calls a layer, a complaint, a garment, a shape, and what a person reads for it. */

import { garmentOf, type About, type ClusterAbout, type LayerAbout, type PosedShapeAbout } from "./data/about.ts";
import type { PoseChoice } from "./data/source.ts";

const AS_MODELLED = "as modelled";
const MIN_WEIGHT = 0.005; // weights below this are not shown

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
  const name = spaced(garment.name);
  const isFirst = about.garments.find((other) => other.name === garment.name) === garment;
  return isFirst ? name : `${name}, ${garment.variant || garment.method}`;
}

/** The garment itself, where the key is that of another version of it. */
export function rootOf(about: About, key: string): string {
  return garmentOf(about, key)?.variant_of || key;
}

/** Weights that are not 0, in words, the largest first: "belly 1, hips 0.5"; at most so many are named. */
export function shapeWords(about: About, weights: readonly number[], most = Infinity, joints: readonly number[] = []): string {
  const values = [...about.sliders.map((_, k) => weights[k]), ...joints];
  const moved = [...about.sliders, ...about.joint_sliders]
    .slice(0, values.length)
    .map(({ name }, k) => ({ name, weight: values[k] }))
    .filter(({ weight }) => Math.abs(weight) >= MIN_WEIGHT)
    .sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  if (!moved.length) return "the base body";
  const named = moved.slice(0, most).map(({ name, weight }) => `${spaced(name)} ${trimmed(weight)}`).join(", ");
  return moved.length > most ? `${named} and ${moved.length - most} more` : named;
}

/** What a person calls the pose of a shape that was looked at. */
export function poseName(about: About, { stance }: PosedShapeAbout): string {
  return stance === null ? AS_MODELLED : spaced(about.stances[stance]?.name ?? "");
}

/** How the body stands, in words: empty in the modelled pose. */
export function poseWords(about: About, pose: PoseChoice | null): string {
  if (!pose) return "";
  if ("stance" in pose) return spaced(about.stances[pose.stance]?.name ?? "");
  if ("animation" in pose) return `${spaced(about.animations[pose.animation]?.name ?? "")} at ${pose.time.toFixed(2)} s`;
  return "joints moved by hand";
}

/** A name of a file or an identifier as words. */
export function spaced(name: string): string {
  return name.replaceAll("_", " ");
}

function trimmed(weight: number): string {
  return String(Number(weight.toFixed(2))).replace("-", "−");
}
