/** Which garments are worn, and which one is looked at. */

import type { Context } from "../context.ts";
import { MOST_GARMENTS } from "../data/schema.ts";
import { rootOf } from "../naming.ts";

/** A garment is put on, and looked at; or taken off. */
export function putOn(context: Context, key: string, on: boolean): void {
  const { worn, focus } = context.store.now;
  if (on && refused(context, worn)) return;
  const next = on ? [...worn, key] : worn.filter((other) => other !== key);
  context.store.set({ worn: next, focus: on ? key : focus === key ? (next[0] ?? key) : focus });
}

/** Look at a garment: it is worn, in place of its own variants. */
export function lookAt(context: Context, key: string): void {
  const { worn, about } = context.store.now;
  if (worn.includes(key)) {
    context.store.set({ focus: key });
    return;
  }
  const family = familyOf(context, key);
  const others = worn.filter((other) => !family.includes(other));
  const rest = about.garments.some((garment) => garment.worn) ? others : [];
  if (!refused(context, rest)) context.store.set({ focus: key, worn: [...rest, key] });
}

/** Whether no further garment can be worn over these, which is then said: the program takes so many at once. */
function refused({ source, notices, store }: Context, worn: readonly string[]): boolean {
  if (!source.isLive || worn.length < MOST_GARMENTS) return false;
  notices.fail(`${MOST_GARMENTS} garments are worn, and no more can be at once. Take one off first.`);
  store.set({ worn: [...store.now.worn] }); // the box that was ticked is drawn anew
  return true;
}

/** A garment and all its variants. */
export function familyOf(context: Context, key: string): string[] {
  const { about } = context.store.now;
  const root = rootOf(about, key);
  return about.garments.filter((garment) => garment.key === root || garment.variant_of === root).map((garment) => garment.key);
}
