/** Chart: a fault along every slider, one curve each; hovering shows that shape, a click stays there. */

import type { About, GarmentCharts } from "../../data/about.ts";
import { withUnit } from "../../draw/scale.ts";
import { spaced } from "../../naming.ts";
import { h, replace, svg } from "../../dom.ts";
import { canvasOf, line, linear, pathOf, text, ticksOf, type Frame } from "./draw_svg.ts";

const FRAME: Frame = { width: 320, height: 172, left: 38, right: 10, top: 12, bottom: 26 };
const NEAR = 22; // pixels of the chart within which the nearest curve counts

export interface Hovered {
  readonly slider: number;
  readonly weight: number;
}

export interface CurveActs {
  readonly hover: (at: Hovered | null) => void;
  readonly choose: (at: Hovered) => void;
}

interface Curve {
  readonly slider: number;
  readonly name: string;
  readonly points: readonly { weight: number; value: number; x: number; y: number }[];
}

export function curveChart(about: About, charts: GarmentCharts, fault: string, unit: string, words: string, acts: CurveActs): HTMLElement {
  const curves = layCurves(about, charts, fault);
  const values = curves.flatMap((curve) => curve.points.map(({ value }) => value));
  const low = Math.min(0, ...values), high = Math.max(...values, low + 1e-9);
  const y = linear(low, high, FRAME.height - FRAME.bottom, FRAME.top);
  const bound = (pick: "low" | "high") => about.sliders.map((slider) => slider[pick]);
  const start = Math.min(...bound("low")), end = Math.max(...bound("high"));
  const x = linear(start, end, FRAME.left, FRAME.width - FRAME.right);
  const placed = curves.map((curve) => ({ ...curve, points: curve.points.map((p) => ({ ...p, x: x(p.weight), y: y(p.value) })) }));
  const told = h("p.chart-told", {}, "One line per slider, the others at 0. Point at a line to see that shape; click to stay there.");
  const paths = placed.map((curve) => svg("path", { class: "curve", d: pathOf(curve.points.map((p) => [p.x, p.y] as const)) }));
  const dot = svg("circle", { class: "dot", r: 3.5, visibility: "hidden" });
  const drawing = canvasOf(FRAME, `${words} along each slider`, ...axes(x, y, [start, end], [low, high], unit), ...paths, dot);

  const at = (event: PointerEvent): { curve: number; point: number } | null => {
    const box = drawing.getBoundingClientRect();
    return nearest(placed, ((event.clientX - box.left) / box.width) * FRAME.width, ((event.clientY - box.top) / box.height) * FRAME.height);
  };
  drawing.addEventListener("pointermove", (event) => show(at(event)));
  drawing.addEventListener("pointerleave", () => show(null));
  drawing.addEventListener("click", (event) => {
    const found = at(event as PointerEvent);
    if (found) acts.choose(hovered(placed[found.curve], found.point));
  });
  return h("figure.chart-holder", {}, h("figcaption", {}, words), drawing, told, table(placed, words, unit, acts));

  function show(found: { curve: number; point: number } | null): void {
    paths.forEach((path, i) => path.classList.toggle("near", i === found?.curve));
    dot.setAttribute("visibility", found ? "visible" : "hidden");
    if (!found) {
      acts.hover(null);
      return;
    }
    const curve = placed[found.curve], point = curve.points[found.point];
    dot.setAttribute("cx", String(point.x));
    dot.setAttribute("cy", String(point.y));
    replace(told, h("b", {}, `${curve.name} ${point.weight}`), `: ${withUnit(point.value, unit)}`);
    acts.hover(hovered(curve, found.point));
  }
}

function hovered(curve: Curve, point: number): Hovered {
  return { slider: curve.slider, weight: curve.points[point].weight };
}

function layCurves(about: About, charts: GarmentCharts, fault: string): Curve[] {
  return about.sliders.flatMap(({ name }, slider) => {
    const curve = charts.weights?.[name];
    if (!curve?.at.length) return [];
    const points = curve.at.map((weight, i) => ({ weight, value: curve.values[fault]?.[i] ?? 0, x: 0, y: 0 }));
    return [{ slider, name: spaced(name), points }];
  });
}

export function nearest(curves: readonly Curve[], x: number, y: number): { curve: number; point: number } | null {
  let best: { curve: number; point: number } | null = null;
  let least = NEAR * NEAR;
  curves.forEach(({ points }, curve) =>
    points.forEach((p, point) => {
      const distance = (p.x - x) ** 2 + (p.y - y) ** 2;
      if (distance < least) {
        least = distance;
        best = { curve, point };
      }
    }),
  );
  return best;
}

type Place = (value: number) => number;

function axes(x: Place, y: Place, across: readonly number[], up: readonly number[], unit: string): SVGElement[] {
  const foot = FRAME.height - FRAME.bottom;
  const parts = ticksOf(up[0], up[1], 3).flatMap((tick) => [
    line(FRAME.left, y(tick), FRAME.width - FRAME.right, y(tick), "grid"),
    text(withUnit(tick, "", up[1] - up[0]), FRAME.left - 5, y(tick) + 4, "end"),
  ]);
  parts.push(...ticksOf(across[0], across[1], 4).map((tick) => text(String(tick).replace("-", "−"), x(tick), foot + 14, "middle")));
  parts.push(text("weight", FRAME.width - FRAME.right, foot + 25, "end"), text(unit, 2, 9, "start"));
  return parts;
}

/** The same as a table for readers and keyboards: the worst of each slider, to go to. */
function table(curves: readonly Curve[], words: string, unit: string, acts: CurveActs): HTMLElement {
  const rows = curves
    .map((curve) => ({ curve, worst: curve.points.reduce((a, b, i) => (Math.abs(b.value) > Math.abs(curve.points[a].value) ? i : a), 0) }))
    .filter(({ curve, worst }) => Math.abs(curve.points[worst].value) > 0)
    .sort((a, b) => Math.abs(b.curve.points[b.worst].value) - Math.abs(a.curve.points[a.worst].value));
  const list = rows.map(({ curve, worst }) => {
    const { weight, value } = curve.points[worst];
    const go = h("button.text-button", { type: "button" }, `${curve.name} ${weight}`);
    go.addEventListener("click", () => acts.choose(hovered(curve, worst)));
    return h("tr", {}, h("td", {}, go), h("td.number", {}, withUnit(value, unit)));
  });
  return h("details.as-table", {}, h("summary", {}, "As a table"), h("table", {}, h("caption.sr", {}, words), h("tbody", {}, list)));
}
