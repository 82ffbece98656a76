/** Over the picture: which garments are being fitted, as long as that takes. */

import type { Context } from "../context.ts";
import { h } from "../dom.ts";
import { nameOf } from "../naming.ts";

export function makeFittingNote({ store, source }: Context): HTMLElement {
  const element = h("p.fitting", { role: "status" });
  store.watch(["coming", "about", "isConnected"], ({ about, coming, isConnected }) => {
    const names = coming.map((key) => nameOf(about, key)).join(", ");
    const verb = source.isLive ? "Fitting" : "Unpacking";
    element.textContent = names && isConnected ? `${verb} ${names} …` : "";
  });
  return element;
}
