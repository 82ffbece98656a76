/** Light or dark: as the system says, until a person says otherwise. */

import type { Context } from "../context.ts";
import { button } from "../dom.ts";

const system = () => matchMedia("(prefers-color-scheme: dark)");

export function isDark(): boolean {
  return (document.documentElement.dataset.theme ?? (system().matches ? "dark" : "light")) === "dark";
}

export function makeThemeButton(context: Context): HTMLElement {
  const toggle = button("", () => {
    document.documentElement.dataset.theme = isDark() ? "light" : "dark";
    show();
  }, { class: "quiet" });
  const show = () => {
    toggle.textContent = isDark() ? "Light" : "Dark";
    toggle.title = isDark() ? "Show the page light" : "Show the page dark";
    context.stage.light.setDark(isDark());
    context.stage.request();
  };
  system().addEventListener("change", show);
  show();
  return toggle;
}
