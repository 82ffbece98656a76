/** Axes and marks that the charts share. */

import { svg } from "../../dom.ts";

export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export function canvasOf(frame: Frame, label: string, ...children: readonly SVGElement[]): SVGElement {
  const { width, height } = frame;
  return svg("svg", { class: "chart", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": label }, ...children);
}

/** From a value to a place along a line. */
export function linear(low: number, high: number, from: number, to: number): (value: number) => number {
  const span = high - low || 1;
  return (value) => from + ((value - low) / span) * (to - from);
}

/** Round values that divide an interval into about so many parts: 1, 2 or 5 times a power of ten. */
export function ticksOf(low: number, high: number, about: number): number[] {
  const rough = (high - low) / about;
  if (!(rough > 0)) return [low];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((factor) => factor * power).find((size) => size >= rough * 0.999) ?? 10 * power;
  const ticks: number[] = [];
  for (let tick = Math.ceil(low / step - 1e-9) * step; tick <= high + step * 1e-9; tick += step) {
    ticks.push(Number(tick.toPrecision(12)));
  }
  return ticks;
}

export function text(words: string, x: number, y: number, anchor: "start" | "middle" | "end", kind = "tick-label"): SVGElement {
  return svg("text", { class: kind, x, y, "text-anchor": anchor }, words);
}

export function line(x1: number, y1: number, x2: number, y2: number, kind: string): SVGElement {
  return svg("line", { class: kind, x1, y1, x2, y2 });
}

export function pathOf(points: readonly (readonly [number, number])[]): string {
  return points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)},${y.toFixed(1)}`).join("");
}
