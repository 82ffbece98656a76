/** Where to look from: front, back, either side, the whole body, up close. */

import type { Context } from "../context.ts";
import { button, h } from "../dom.ts";
import { goNear } from "./go_to.ts";

const QUARTER = Math.PI / 2;

export const FACES = [
  { words: "Front", key: "1", azimuth: 0 },
  { words: "Left", key: "2", azimuth: QUARTER },
  { words: "Back", key: "3", azimuth: 2 * QUARTER },
  { words: "Right", key: "4", azimuth: -QUARTER },
] as const;

export function makeViewButtons(context: Context): HTMLElement {
  const { stage } = context;
  return h(
    "div.views",
    { role: "group", "aria-label": "Look from" },
    FACES.map(({ words, key, azimuth }) => button(words, () => stage.orbit.turnTo(azimuth), { title: `Key ${key} on the picture` })),
    button("Whole body", () => stage.home(), { title: "Key Home on the picture" }),
    button("Up close", () => goNear(context), { title: "Key 0 on the picture" }),
  );
}

/** The side from which a body is seen, as its wearer would name it. */
export function sideWords(azimuth: number): string {
  const turns = Math.round(azimuth / QUARTER);
  return ["the front", "the left", "the back", "the right"][((turns % 4) + 4) % 4];
}
