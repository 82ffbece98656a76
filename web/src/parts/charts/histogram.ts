/** Chart: how much of the cloth lies how far from the skin: at the base, at the worst shape, and after a repair. */

import type { GarmentCharts } from "../../data/about.ts";
import { h, svg } from "../../dom.ts";
import { canvasOf, line, linear, pathOf, text, ticksOf, type Frame } from "./draw_svg.ts";

const FRAME: Frame = { width: 320, height: 150, left: 38, right: 10, top: 12, bottom: 26 };
const PERCENT = 100;

const KINDS = [
  { name: "base", words: "at the base" },
  { name: "before", words: "at the worst shape" },
  { name: "after", words: "at the worst shape, repaired" },
] as const;

export function clearanceChart(clearance: NonNullable<GarmentCharts["clearance"]>): HTMLElement {
  const { edges } = clearance;
  const kinds = KINDS.flatMap(({ name, words }) => {
    const shares = clearance[name];
    return shares ? [{ name, words, shares }] : [];
  });
  const most = Math.max(...kinds.flatMap(({ shares }) => shares), 1e-9);
  const x = linear(edges[0], edges[edges.length - 1], FRAME.left, FRAME.width - FRAME.right);
  const y = linear(0, most, FRAME.height - FRAME.bottom, FRAME.top);
  const foot = FRAME.height - FRAME.bottom;
  const marks = ticksOf(0, most, 3).flatMap((tick) => [
    line(FRAME.left, y(tick), FRAME.width - FRAME.right, y(tick), "grid"),
    text(`${Number((PERCENT * tick).toPrecision(3))}`, FRAME.left - 5, y(tick) + 4, "end"),
  ]);
  marks.push(...ticksOf(edges[0], edges[edges.length - 1], 5).map((tick) => text(String(tick).replace("-", "−"), x(tick), foot + 14, "middle")));
  marks.push(text("mm from the skin", FRAME.width - FRAME.right, foot + 25, "end"), text("% of cloth", 2, 9, "start"));
  marks.push(line(x(0), FRAME.top, x(0), foot, "skin-line"));
  const steps = kinds.map(({ name, shares }) => svg("path", { class: `steps ${name}`, d: stairs(edges, shares, x, y) }));
  const legend = h("ul.chart-legend", {}, kinds.map(({ name, words }) => h("li", {}, h(`span.stroke.${name}`), words)));
  return h("figure.chart-holder", {}, h("figcaption", {}, "Clearance"), canvasOf(FRAME, "Share of the cloth by clearance", ...marks, ...steps), legend);
}

type Place = (value: number) => number;

function stairs(edges: readonly number[], shares: readonly number[], x: Place, y: Place): string {
  const points = shares.flatMap((share, i) => [[x(edges[i]), y(share)], [x(edges[i + 1]), y(share)]] as [number, number][]);
  return pathOf([[x(edges[0]), y(0)], ...points, [x(edges[edges.length - 1]), y(0)]]);
}
