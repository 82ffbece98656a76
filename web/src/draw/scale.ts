/** From the values of a layer to colours on a surface, and to words. */

import type { LayerAbout } from "../data/about.ts";
import { CLASS_STOPS, CLOTH_STOPS, DIVERGING_STOPS, oklabToLinear, ramp, SKIN_STOPS, STEPS, type Lab } from "./colour.ts";

export interface Scale {
  readonly low: number;
  readonly high: number;
  readonly stops: readonly Lab[];
  readonly table: Float32Array;
  readonly classes: readonly string[] | null;
}

export function scaleOf(layer: LayerAbout): Scale {
  if (layer.kind === "classes") {
    const classes = layer.classes ?? [];
    const stops = classes.map((_, i) => CLASS_STOPS[i % CLASS_STOPS.length]);
    const table = Float32Array.from(stops.flatMap((lab) => [...oklabToLinear(lab)]));
    return { low: 0, high: Math.max(1, classes.length - 1), stops, table, classes };
  }
  const rising = layer.on === "body" ? SKIN_STOPS : CLOTH_STOPS;
  const stops = layer.kind === "diverging" ? DIVERGING_STOPS : rising;
  return { low: layer.low, high: layer.high, stops, table: ramp(stops), classes: null };
}

/** Write linear colours of `values` into `out`, three per value; what has no value (NaN) takes the first colour. */
export function paint(scale: Scale, values: ArrayLike<number>, out: Float32Array): void {
  const { low, high, table, classes } = scale;
  const last = classes ? classes.length - 1 : STEPS - 1;
  const factor = classes ? 1 : last / (high - low);
  for (let i = 0; i < values.length; i++) {
    const place = Math.round((values[i] - (classes ? 0 : low)) * factor);
    const at = 3 * (place > 0 ? (place < last ? place : last) : 0);
    out[3 * i] = table[at];
    out[3 * i + 1] = table[at + 1];
    out[3 * i + 2] = table[at + 2];
  }
}

/** A value with its unit, in as many digits as its scale deserves. */
export function inWords(layer: LayerAbout, value: number): string {
  if (!Number.isFinite(value)) return "no value";
  if (layer.kind === "classes") return layer.classes?.[Math.round(value)] ?? "no value";
  return withUnit(value, layer.unit, layer.high - layer.low);
}

export function withUnit(value: number, unit: string, span = Math.abs(value)): string {
  const digits = span >= 50 ? 0 : span >= 5 ? 1 : span >= 0.5 ? 2 : 3;
  const figure = value.toFixed(digits);
  const text = Number(figure) === 0 ? "0" : figure.replace("-", "−"); // nothing is 0, in however many digits
  return unit ? `${text}\u202f${unit}` : text;
}
