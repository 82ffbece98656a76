import assert from "node:assert/strict";
import { test } from "node:test";
import { inflate, indices, PackError, readPack, reals } from "../src/data/pack.ts";
import { madePack } from "./packs.ts";

test("what is packed comes back", () => {
  const pack = readPack(madePack({ kind: "body", name: "Ø" }, { a: Float32Array.of(1.5, -2), b: Uint16Array.of(7, 8, 9) }));
  assert.equal(pack.kind, "body");
  assert.equal(pack.header.name, "Ø");
  assert.deepEqual([...reals(pack.arrays.get("a")!)], [1.5, -2]);
  assert.deepEqual([...indices(pack.arrays.get("b")!)], [7, 8, 9]);
});

test("coarse numbers are stored times scale plus offset", () => {
  const pack = readPack(madePack({ kind: "x" }, { a: Int16Array.of(-2, 0, 3) }, { a: { scale: 0.5, offset: 10 } }));
  assert.deepEqual([...reals(pack.arrays.get("a")!)], [9, 10, 11.5]);
});

test("float arrays are views, not copies", () => {
  const buffer = madePack({ kind: "x" }, { a: Float32Array.of(1, 2) });
  assert.equal(reals(readPack(buffer).arrays.get("a")!).buffer, buffer);
});

test("a pack that is cut short is refused", () => {
  const buffer = madePack({ kind: "x" }, { a: Float32Array.of(1, 2, 3, 4) });
  assert.throws(() => readPack(buffer.slice(0, 2)), PackError);
  assert.throws(() => readPack(buffer.slice(0, 30)), PackError);
  assert.throws(() => readPack(buffer.slice(0, buffer.byteLength - 8)), /end inside the array a/);
});

test("an array of an unknown type or of another size than its shape is refused", () => {
  const wrong = (entry: object) => madePack({ kind: "x" }, { a: Uint8Array.of(1, 2, 3, 4) }, { a: entry });
  assert.throws(() => readPack(wrong({ dtype: "f8" })), /unknown type f8/);
  assert.throws(() => readPack(wrong({ shape: [3] })), /another size than its shape/);
});

test("base64 of raw deflate is inflated", async () => {
  const { deflateRawSync } = await import("node:zlib");
  const bytes = Uint8Array.from({ length: 5000 }, (_, i) => i % 251);
  const text = deflateRawSync(bytes).toString("base64");
  assert.deepEqual(new Uint8Array(await inflate(`\n${text}\n`)), bytes);
});
