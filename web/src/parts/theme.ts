/** Light or dark: as the system says, until a person says otherwise. */

import type { Desk } from "../app/desk.ts";
import { button } from "../dom.ts";

const DARK = "(prefers-color-scheme: dark)";

export function makeThemeButton(desk: Desk): HTMLElement {
  const root = document.documentElement;
  const system = matchMedia(DARK);
  const isDark = () => (root.dataset.theme ?? (system.matches ? "dark" : "light")) === "dark";
  const toggle = button("", () => {
    root.dataset.theme = isDark() ? "light" : "dark";
    show();
  }, { class: "quiet" });
  const show = () => {
    toggle.textContent = isDark() ? "Daylight" : "Lamplight";
    toggle.title = isDark() ? "Show the page light" : "Show the page dark";
    desk.stage.light.setDark(isDark());
    desk.stage.request();
  };
  system.addEventListener("change", show);
  show();
  return toggle;
}
