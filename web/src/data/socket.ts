/** One socket: questions with a number, answers that repeat it, and what the server says unasked. */

import { readPack, type Pack } from "./pack.ts";
import type { Answers, Requests } from "./schema.ts";
import type { Progress, Task } from "./source.ts";

interface Waiting {
  answer(pack: Pack | null): void;
  fail(error: Error): void;
  progress?: (progress: Progress) => void;
}

const CANCEL = "cancel";

/** The connection is gone: said once, by whoever watches the connection. */
export class LostError extends Error {}

export class Socket {
  readonly #url: string;
  readonly #waiting = new Map<number, Waiting>();
  #web: WebSocket | null = null;
  #last = 0;
  /** Whether the newest connection was ever there: a program that was started anew refuses the key of the one before. */
  #wasOpen = false;
  /** Called with what comes unasked. */
  onUnasked: (pack: Pack) => void = () => undefined;
  onOpen: () => void = () => undefined;
  onClose: (words: string) => void = () => undefined;

  constructor(url: string) {
    this.#url = url;
  }

  open(): void {
    const web = new WebSocket(this.#url);
    web.binaryType = "arraybuffer";
    this.#wasOpen = false;
    web.onopen = () => {
      this.#wasOpen = true;
      this.onOpen();
    };
    web.onmessage = (event) => this.#hear(readPack(event.data as ArrayBuffer));
    web.onclose = (event) => this.#closed(event);
    this.#web = web;
  }

  get isOpen(): boolean {
    return this.#web?.readyState === WebSocket.OPEN;
  }

  request<K extends keyof Requests>(what: K, values: Requests[K], onProgress?: (progress: Progress) => void): Task<Answers[K]> {
    const id = ++this.#last;
    const result = new Promise<Pack<Answers[K]> | null>((answer, fail) => {
      if (!this.isOpen) {
        fail(new LostError("The connection is closed. Nothing was done."));
        return;
      }
      const take = (pack: Pack | null) => {
        if (pack && pack.kind !== what) fail(new Error(`"${what}" was answered with "${pack.kind}".`));
        else answer(pack as Pack<Answers[K]> | null);
      };
      this.#waiting.set(id, { answer: take, fail, progress: onProgress });
      this.#web!.send(JSON.stringify({ id, request: what, ...values }));
    });
    return { result, cancel: () => this.#cancel(id) };
  }

  #cancel(id: number): void {
    if (!this.#waiting.has(id)) return;
    this.request(CANCEL, { of: id }).result.catch(() => undefined);
  }

  #hear(pack: Pack): void {
    const id = Number(pack.header.id ?? 0);
    const waiting = this.#waiting.get(id);
    if (pack.kind === "progress" && waiting) {
      waiting.progress?.(readProgress(pack));
    } else if (!waiting) {
      this.onUnasked(pack);
    } else {
      this.#waiting.delete(id);
      if (pack.kind === "error") waiting.fail(new Error(String(pack.header.words)));
      else waiting.answer(pack.kind === "dropped" ? null : pack);
    }
  }

  #closed(event: CloseEvent): void {
    const gone = new LostError("The connection broke off before the answer came.");
    for (const waiting of this.#waiting.values()) waiting.fail(gone);
    this.#waiting.clear();
    this.onClose(closedWords(event.code, this.#wasOpen));
  }
}

/** How far work has come, as a pack says it. */
export function readProgress({ header }: Pack): Progress {
  return { done: Number(header.done), of: Number(header.of), words: String(header.words) };
}

const GOING_AWAY = 1001;
const TOO_BIG = 1009;
const FULL = 1013;

/** What a person is told about a closed socket. */
export function closedWords(code: number, wasOpen = true): string {
  if (code === GOING_AWAY) return "The program behind this page has ended. Start it again and open the address that it prints.";
  if (code === TOO_BIG) return "The last message was larger than the program takes, and it hung up.";
  if (code === FULL) return "Too many pages are connected. Close one and try again.";
  if (!wasOpen) return "No program answers at this address. It has ended, or was started anew: open the address that it printed last.";
  return "The connection to the program is gone.";
}
