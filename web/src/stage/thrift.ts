/** Finds out that frames come late, and how much splendour to give up for them. */

export type Splendour = "full" | "moderate" | "bare";

const LATE_MS = 60; // a frame that is asked for comes within 17 ms where drawing keeps up
const PATIENCE = 6; // late frames in a row
const STEPS: readonly Splendour[] = ["full", "moderate", "bare"];

export class Thrift {
  #late = 0;
  #step = 0;

  get splendour(): Splendour {
    return STEPS[this.#step];
  }

  /** Note how long a frame let wait; whether less is to be drawn from now on. */
  note(waitedMs: number): boolean {
    this.#late = waitedMs > LATE_MS ? this.#late + 1 : 0;
    if (this.#late < PATIENCE || this.#step === STEPS.length - 1) return false;
    this.#late = 0;
    this.#step++;
    return true;
  }
}
