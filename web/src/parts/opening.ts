/** What stands on the page before there is anything to show, and when nothing can be shown. */

import { button, h, replace } from "../dom.ts";

export function showLoading(root: HTMLElement): void {
  replace(root, h("div.first", { role: "status" }, h("div.tape-run", { "aria-hidden": "true" }), h("p", {}, "Loading the body and the garments")));
}

export function showFailure(root: HTMLElement, error: Error): void {
  const isPicture = /webgl/i.test(error.message);
  const words = isPicture
    ? "This browser cannot draw in three dimensions: WebGL is off or missing. The figures and pictures of a report can be read without it."
    : error.message;
  replace(
    root,
    h(
      "div.first.failed",
      { role: "alert" },
      h("p.first-title", {}, "The page cannot be shown."),
      h("p", {}, words),
      button("Try again", () => location.reload()),
    ),
  );
}
