/** Chart: how bad a garment is in each stance, on each shape that was looked at there; a cell shows it. */

import type { About, PosedShapeAbout } from "../../data/about.ts";
import { SEVERITIES } from "../../data/about.ts";
import { h, replace } from "../../dom.ts";
import { poseName } from "../../naming.ts";

/** Rows are stances, the worst first; the worst shape of each stands at the left. */
export function stanceGrid(about: About, garment: string, choose: (posed: PosedShapeAbout) => void): HTMLElement | null {
  const rows = new Map<number | null, PosedShapeAbout[]>();
  for (const posed of about.posed) {
    if (posed.garment === garment) rows.set(posed.stance, [...(rows.get(posed.stance) ?? []), posed]);
  }
  if (!rows.size) return null;
  const told = h("p.chart-told", {}, "The worst shape of each stance stands first. A cell shows it.");
  const most = Math.max(...[...rows.values()].map(({ length }) => length));
  const grid = h("div.heat.stances", { style: `--count:${most}` });
  for (const shapes of rows.values()) {
    const name = poseName(about, shapes[0]);
    grid.append(h("div.heat-row", {}, h("span.heat-name", { title: name }, name), shapes.map((posed) => cell(name, posed))));
  }
  return h("figure.chart-holder", {}, h("figcaption", {}, "In every stance"), grid, told);

  function cell(name: string, posed: PosedShapeAbout): HTMLElement {
    const words = `${name}, ${posed.label}: ${posed.severity}${posed.words && `, ${posed.words}`}`;
    const grade = SEVERITIES.indexOf(posed.severity);
    const element = h("button.heat-cell", { type: "button", "aria-label": words, "data-grade": grade });
    const tell = () => replace(told, words);
    element.addEventListener("pointerenter", tell);
    element.addEventListener("focus", tell);
    element.addEventListener("click", () => choose(posed));
    return element;
  }
}
