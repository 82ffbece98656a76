/** Notices that frames come late, and says how finely to draw from then on. */

export type Quality = "full" | "reduced" | "lowest";

const LATE_MS = 60; // a frame that is asked for comes within 17 ms where drawing keeps up
const MAX_LATE = 6; // late frames in a row
const STEPS: readonly Quality[] = ["full", "reduced", "lowest"];

export class QualityWatch {
  #late = 0;
  #step = 0;

  get quality(): Quality {
    return STEPS[this.#step];
  }

  /** Note how long a frame took to come; true when the quality has just gone down. */
  note(waitedMs: number): boolean {
    this.#late = waitedMs > LATE_MS ? this.#late + 1 : 0;
    if (this.#late < MAX_LATE || this.#step === STEPS.length - 1) return false;
    this.#late = 0;
    this.#step++;
    return true;
  }
}
