/** A pin in the place that is spoken of: where a complaint is, or where a person has pressed. */

import { Vector3 } from "three";
import type { Context } from "../context.ts";
import { h, svg } from "../dom.ts";

const at = new Vector3();

export interface PinNeedle {
  readonly element: HTMLElement;
  /** Stand where the place now is in the picture. */
  place(): void;
}

export function makePin(context: Context): PinNeedle {
  const drawing = svg(
    "svg",
    { viewBox: "0 0 16 30", width: 16, height: 30, "aria-hidden": "true" },
    svg("line", { x1: 8, y1: 8, x2: 8, y2: 30 }),
    svg("circle", { cx: 8, cy: 7, r: 6 }),
  );
  const element = h("div.pin", { hidden: true }, drawing);
  context.store.on(["mark"], () => context.stage.request());
  return {
    element,
    place() {
      const { mark, comparison } = context.store.now;
      element.hidden = !mark || comparison !== null;
      if (!mark) return;
      at.set(...mark.position).project(context.stage.orbit.camera);
      const { clientWidth: width, clientHeight: height } = context.stage.canvas;
      element.style.transform = `translate(${((at.x + 1) / 2) * width - 8}px, ${((1 - at.y) / 2) * height - 30}px)`;
    },
  };
}
