/** Which garments are worn, and which one is looked at. */

import type { Context } from "../context.ts";
import { rootOf } from "../naming.ts";

/** A garment is put on, and looked at; or taken off. */
export function putOn(context: Context, key: string, on: boolean): void {
  const { worn, focus } = context.store.now;
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
  context.store.set({ focus: key, worn: [...rest, key] });
}

/** A garment and all its variants. */
export function familyOf(context: Context, key: string): string[] {
  const { about } = context.store.now;
  const root = rootOf(about, key);
  return about.garments.filter((garment) => garment.key === root || garment.variant_of === root).map((garment) => garment.key);
}
