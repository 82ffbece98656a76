/** How far the check over the whole range is, with a way to stop it or to begin it again. */

import type { Context } from "../context.ts";
import { button, h } from "../dom.ts";
import { showProgress } from "./notices.ts";

const FIRST_CHECK = 0; // id of the check that starts by itself
const WORDS = {
  running: "Checking the whole range. The sliders work meanwhile.",
  done: "",
  none: "",
  stopped: "The check was stopped. What it had found is listed.",
  failed: "The check could not be finished. What it had found is listed.",
} as const;
const LOST = "The check ended when the connection was lost.";

export function makeCheckProgress({ store, source, notices }: Context): HTMLElement {
  const words = h("p"), bar = h<HTMLProgressElement>("progress", { "aria-label": "Checking the whole range" });
  const stop = button("Stop checking", () => void source.request("cancel", { of: FIRST_CHECK }).result.catch(() => undefined));
  const again = button("", () => void source.request("check", {}).result.catch((error) => notices.fail(error)));
  const element = h("div.checking", {}, words, bar, stop, again);
  store.watch(["about", "isConnected"], ({ about: { check, garments }, isConnected }) => {
    const runs = check.state === "running" && isConnected;
    element.hidden = !source.isLive || !garments.length;
    bar.hidden = stop.hidden = !runs;
    again.hidden = runs || !isConnected;
    again.textContent = check.state === "none" ? "Check the whole range" : "Check the whole range again";
    words.textContent = check.state === "running" && !isConnected ? LOST : WORDS[check.state];
  });
  source.onProgress((id, { done, of, words: now }) => {
    if (id !== FIRST_CHECK) return;
    words.textContent = now ? `${now}. The sliders work meanwhile.` : WORDS.running;
    showProgress(bar, done, of);
  });
  return element;
}
