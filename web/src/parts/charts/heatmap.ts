/** Chart: a fault with two sliders moved at once; a cell shows that shape. */

import type { About, GarmentCharts } from "../../data/about.ts";
import { along, css, SKIN_STOPS } from "../../draw/colour.ts";
import { withUnit } from "../../draw/scale.ts";
import { spaced } from "../../naming.ts";
import { h, replace } from "../../dom.ts";

export interface Pair {
  readonly sliders: readonly [number, number];
  readonly weights: readonly [number, number];
}

export interface PairActs {
  readonly hover: (pair: Pair | null) => void;
  readonly choose: (pair: Pair) => void;
}

/** Cells below the diagonal and on it; each pair once. */
export function heatmap(about: About, pairs: NonNullable<GarmentCharts["pairs"]>, words: string, acts: PairActs): HTMLElement {
  const names = about.sliders.map(({ name }) => spaced(name));
  const most = Math.max(...pairs.values.flat().map((value) => Math.abs(value ?? 0)), 1e-12);
  const told = h("p.chart-told", {}, "Two sliders at once; one alone on the diagonal.");
  const grid = h("div.heat", { role: "grid", "aria-label": `${words}, two sliders at once`, style: `--count:${names.length}` });
  const cells: HTMLElement[] = [];

  names.forEach((name, row) => {
    const line = h("div.heat-row", { role: "row" }, h("span.heat-name", { role: "rowheader" }, name));
    for (let column = 0; column <= row; column++) line.append(cell(row, column));
    grid.append(line);
  });
  const blank = h("span", { role: "columnheader" }, h("span.sr", {}, "Slider"));
  grid.append(h("div.heat-row", { role: "row" }, blank, names.map((name) => h("span.heat-column", { role: "columnheader" }, name))));
  grid.addEventListener("pointerleave", () => acts.hover(null));
  if (cells[0]) cells[0].tabIndex = 0;
  return h("figure.chart-holder", {}, h("figcaption", {}, `${words}, two sliders at once`), grid, told);

  function cell(row: number, column: number): HTMLElement {
    const value = pairs.values[row]?.[column] ?? null;
    const at = pairs.weights[row]?.[column] ?? null;
    const title = value === null || !at ? "not measured" : withUnit(value, pairs.unit);
    const both = row === column ? names[row] : `${names[row]} and ${names[column]}`;
    const shade = value === null ? "" : `background:${css(along(SKIN_STOPS, Math.abs(value) / most))}`;
    const element = h("button.heat-cell", { type: "button", role: "gridcell", tabindex: -1, "aria-label": `${both}: ${title}`, style: shade });
    if (value === null || !at) element.classList.add("blank");
    const pair: Pair | null = at ? { sliders: [row, column], weights: at } : null;
    const tell = () => {
      replace(told, h("b", {}, both), `: ${title}`);
      acts.hover(pair);
    };
    element.addEventListener("pointerenter", tell);
    element.addEventListener("focus", tell);
    element.addEventListener("click", () => pair && acts.choose(pair));
    element.addEventListener("keydown", (event) => step(event, row, column));
    cells.push(element);
    return element;
  }

  function step(event: KeyboardEvent, row: number, column: number): void {
    const moves: Record<string, [number, number]> = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    const [toRow, toColumn] = [row + move[0], column + move[1]];
    if (toRow < 0 || toRow >= names.length || toColumn < 0 || toColumn > toRow) return;
    const next = cells[(toRow * (toRow + 1)) / 2 + toColumn];
    for (const each of cells) each.tabIndex = -1;
    next.tabIndex = 0;
    next.focus();
  }
}
