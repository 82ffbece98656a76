/** What every part of the page is given: the state, the source, the stage, what is drawn, and a place for notices. */

import type { BodyMesh, Cloth } from "./data/meshes.ts";
import type { Pack } from "./data/pack.ts";
import type { Progress, Source, Task } from "./data/source.ts";
import type { Stage } from "./stage/stage.ts";
import type { Store } from "./state.ts";

/** Where a part says what was done, what was not, and how far long work is. */
export interface Speaker {
  /** Something was done; it may be undone or followed up by one button. */
  say(words: string, next?: { readonly words: string; readonly act: () => void }): void;
  /** Something was not done. */
  fail(error: unknown): void;
  /** Follow long work; null where it was cancelled or failed, which has then been said. */
  work<Answer>(words: string, start: (tell: (progress: Progress) => void) => Task<Answer>): Promise<Pack<Answer> | null>;
}

/** Meshes that are here and can be drawn. */
export interface Meshes {
  readonly body: BodyMesh | null;
  readonly cloths: ReadonlyMap<string, Cloth>;
}

export interface Context {
  readonly store: Store;
  readonly source: Source;
  readonly stage: Stage;
  readonly notices: Speaker;
  /** Whether the person asked for less movement. */
  readonly calm: () => boolean;
}
