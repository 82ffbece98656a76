/** The picture on paper: a still image, since a browser may print what is drawn in three dimensions as nothing. */

import type { Context } from "../context.ts";
import { h } from "../dom.ts";

export function makePrinted({ stage }: Context): HTMLElement {
  const image = h<HTMLImageElement>("img.printed", { alt: "The body as it was shown" });
  addEventListener("beforeprint", () => (image.src = stage.still()));
  return image;
}
