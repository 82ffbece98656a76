/** What is going on and what went wrong: a line that speaks, and long work with its progress and a way out. */

import { button, h } from "../dom.ts";
import type { Progress, Task, Trouble } from "../data/source.ts";
import type { Pack } from "../data/pack.ts";

const SHOWN_MS = 7000;

export class Notices {
  readonly element = h("div.notices", { role: "status", "aria-live": "polite" });

  /** Something was done. */
  say(words: string): void {
    this.#put("note", words, SHOWN_MS);
  }

  /** Something was not done. Stays until it is read. */
  fail(words: string): void {
    const same = [...this.element.querySelectorAll(".notice.failed .words")];
    if (same.some((element) => element.textContent === words)) return;
    this.#put("failed", words, 0);
  }

  /** The connection: what is wrong with it, until it is well again. */
  trouble(trouble: Trouble): void {
    this.element.querySelector(".notice.trouble")?.remove();
    if (!trouble) return;
    const { words, again } = trouble;
    if (!again) {
      this.fail(words);
      return;
    }
    const notice = h("div.notice.failed.trouble", {}, h("span.words", {}, words), button("Connect again", again));
    this.element.append(notice);
  }

  /** Follow long work: its progress, a button that cancels it, and what came of it. */
  async work<Answer>(words: string, start: (tell: (progress: Progress) => void) => Task<Answer>): Promise<Pack<Answer> | null> {
    const line = h("span.words", {}, words);
    const bar = h<HTMLProgressElement>("progress", { "aria-label": words });
    const task = start(({ done, of, words: now }) => {
      line.textContent = now || words;
      if (of > 0) {
        bar.max = of;
        bar.value = done;
      } else {
        bar.removeAttribute("value");
      }
    });
    const notice = h("div.notice.work", {}, line, bar, button("Cancel", () => task.cancel()));
    this.element.append(notice);
    try {
      const pack = await task.result;
      if (!pack) this.say(`Cancelled: ${words}`);
      return pack;
    } catch (error) {
      this.fail((error as Error).message);
      return null;
    } finally {
      notice.remove();
    }
  }

  #put(kind: string, words: string, lasting: number): void {
    const notice = h(`div.notice.${kind}`, {}, h("span.words", {}, words));
    notice.append(button("×", () => notice.remove(), { "aria-label": "Close this message" }));
    this.element.append(notice);
    if (lasting) setTimeout(() => notice.remove(), lasting);
  }
}
