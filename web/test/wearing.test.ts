import assert from "node:assert/strict";
import { test } from "node:test";
import { read, written } from "../src/app/address.ts";
import type { Context } from "../src/context.ts";
import { MOST_GARMENTS } from "../src/data/schema.ts";
import { lookAt, putOn } from "../src/parts/wearing.ts";
import { firstState, Store } from "../src/state.ts";
import { about, garment } from "./abouts.ts";

const WARDROBE = about({ garments: Array.from({ length: MOST_GARMENTS + 6 }, (_, i) => garment(`g${i}`, "clean", { worn: i === 0 })) });

function page(isLive: boolean): { context: Context; said: string[] } {
  const said: string[] = [];
  const notices = { fail: (words: unknown) => said.push(String(words)) };
  return { context: { store: new Store(firstState(WARDROBE)), source: { isLive }, notices } as unknown as Context, said };
}

test("no more is worn at once than the program takes, and that is said", () => {
  const { context, said } = page(true);
  for (const { key } of WARDROBE.garments.slice(1)) putOn(context, key, true);
  assert.equal(context.store.now.worn.length, MOST_GARMENTS);
  assert.match(said[0], /Take one off first/);
  lookAt(context, WARDROBE.garments.at(-1)!.key);
  assert.equal(context.store.now.worn.length, MOST_GARMENTS);
  putOn(context, "g3", false);
  putOn(context, WARDROBE.garments.at(-1)!.key, true);
  assert.equal(context.store.now.focus, WARDROBE.garments.at(-1)!.key);
});

test("a report has no program, and no limit", () => {
  const { context, said } = page(false);
  for (const { key } of WARDROBE.garments.slice(1)) putOn(context, key, true);
  assert.deepEqual([context.store.now.worn.length, said.length], [WARDROBE.garments.length, 0]);
});

test("an address that names more is read up to the limit", () => {
  const all = { ...firstState(WARDROBE), worn: WARDROBE.garments.map(({ key }) => key) };
  const place = read(written(all, { position: [1, 1, 1], target: [0, 1, 0] }), WARDROBE)!;
  assert.equal(place.worn!.length, MOST_GARMENTS);
});
