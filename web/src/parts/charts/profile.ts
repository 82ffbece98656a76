/** The fault along one slider, as a low hill under its tape. */

import type { GarmentCharts } from "../../data/about.ts";
import { along, css, SKIN_STOPS } from "../../draw/colour.ts";
import { faultsOfLayer } from "../../fault_words.ts";
import type { State } from "../../state.ts";

export interface Profile {
  readonly at: readonly number[];
  readonly values: readonly number[];
  /** The largest value along any slider: what a full hill stands for. */
  readonly most: number;
}

/** The fault to draw along the sliders: the chosen layer's, else the one the charts hold that grows most. */
export function faultAlong(charts: GarmentCharts | undefined, layer: string | null): string | null {
  const curves = Object.values(charts?.weights ?? {});
  const faults = Object.keys(curves[0]?.values ?? {});
  const wanted = layer ? faultsOfLayer(layer).find((fault) => faults.includes(fault)) : undefined;
  if (wanted) return wanted;
  return faults.includes("exposed") ? "exposed" : (faults[0] ?? null);
}

export function profileOf(state: State, slider: string): Profile | null {
  const charts = state.about.charts[state.focus];
  const fault = faultAlong(charts, state.layer);
  const curve = charts?.weights?.[slider];
  if (!fault || !curve) return null;
  const all = Object.values(charts.weights ?? {}).flatMap((each) => each.values[fault]);
  if (all.every((value) => value === all[0])) return null; // what no slider changes tells them not apart
  return { at: curve.at, values: curve.values[fault], most: Math.max(0, ...all.map(Math.abs)) };
}

export function drawProfile(canvas: HTMLCanvasElement, profile: Profile | null, range: { low: number; high: number }): void {
  const width = canvas.clientWidth, height = canvas.clientHeight;
  const pen = canvas.getContext("2d");
  if (!pen || !width) return;
  const pixels = Math.min(devicePixelRatio, 2);
  canvas.width = Math.round(width * pixels);
  canvas.height = Math.round(height * pixels);
  if (!profile || profile.most <= 0) return;
  pen.scale(pixels, pixels);
  const x = (weight: number) => ((weight - range.low) / (range.high - range.low)) * width;
  const share = (value: number) => Math.abs(value) / profile.most;
  const fill = pen.createLinearGradient(0, 0, width, 0);
  pen.beginPath();
  pen.moveTo(x(profile.at[0]), height);
  profile.at.forEach((weight, i) => {
    pen.lineTo(x(weight), height - share(profile.values[i]) * (height - 1));
    const stop = Math.min(1, Math.max(0, x(weight) / width));
    fill.addColorStop(stop, css(along(SKIN_STOPS, 0.35 + 0.65 * share(profile.values[i]))));
  });
  pen.lineTo(x(profile.at[profile.at.length - 1]), height);
  pen.closePath();
  pen.fillStyle = fill;
  pen.fill();
}
