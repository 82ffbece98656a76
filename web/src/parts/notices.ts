/** What was done, what went wrong, and how far long work is, with a way to cancel it. */

import type { Speaker } from "../context.ts";
import type { Pack } from "../data/pack.ts";
import { LostError } from "../data/socket.ts";
import type { Progress, Task, Trouble } from "../data/source.ts";
import { button, h } from "../dom.ts";

const SHOWN_MS = 7000;

export class Notices implements Speaker {
  readonly element = h("div.notices", { role: "status", "aria-live": "polite" });

  say(words: string, next?: { readonly words: string; readonly act: () => void }): void {
    const notice = this.#put("note", words, SHOWN_MS);
    if (!next) return;
    const act = () => {
      notice.remove();
      next.act();
    };
    notice.querySelector("button")?.before(button(next.words, act));
  }

  /** Stays until it is closed. That the connection is gone is said once, by `trouble`. */
  fail(error: unknown): void {
    if (error instanceof LostError) return;
    const words = error instanceof Error ? error.message : String(error);
    const same = [...this.element.querySelectorAll(".notice.failed .words")];
    if (same.some((element) => element.textContent === words)) return;
    this.#put("failed", words, 0);
  }

  /** What is wrong with the connection, until it is there again. */
  trouble(trouble: Trouble): void {
    this.element.querySelector(".notice.trouble")?.remove();
    if (!trouble) return;
    const { words, again } = trouble;
    if (!again) {
      this.fail(words);
      return;
    }
    this.element.append(h("div.notice.failed.trouble", {}, h("span.words", {}, words), button("Connect again", again)));
  }

  async work<Answer>(words: string, start: (tell: (progress: Progress) => void) => Task<Answer>): Promise<Pack<Answer> | null> {
    const line = h("span.words", {}, words);
    const bar = h<HTMLProgressElement>("progress", { "aria-label": words });
    const task = start(({ done, of, words: now }) => {
      line.textContent = now || words;
      showProgress(bar, done, of);
    });
    const notice = h("div.notice.work", {}, line, bar, button("Cancel", () => task.cancel()));
    this.element.append(notice);
    try {
      const pack = await task.result;
      if (!pack) this.say(`Cancelled: ${words}`);
      return pack;
    } catch (error) {
      this.fail(error);
      return null;
    } finally {
      notice.remove();
    }
  }

  #put(kind: string, words: string, lasting: number): HTMLElement {
    const notice = h(`div.notice.${kind}`, {}, h("span.words", {}, words));
    notice.append(button("×", () => notice.remove(), { "aria-label": "Close this message" }));
    this.element.append(notice);
    if (lasting) setTimeout(() => notice.remove(), lasting);
    return notice;
  }
}

/** Show how much is done; `of` is 0 where the end is not known. */
export function showProgress(bar: HTMLProgressElement, done: number, of: number): void {
  if (of > 0) Object.assign(bar, { max: of, value: done });
  else bar.removeAttribute("value");
}
