import assert from "node:assert/strict";
import { test } from "node:test";
import { readDressed, type Dressed } from "../src/data/dressed.ts";
import { readPack } from "../src/data/pack.ts";
import { DrawnVertices } from "../src/stage/drawn_vertices.ts";
import { madePack } from "./packs.ts";

/** Two triangles of a square; the second shows a picture and is cut from the first. */
const PACK = readPack(madePack({ kind: "cloth" }, {
  "drawn/sources": Uint16Array.of(0, 1, 2, 0, 2, 3),
  "drawn/faces": Uint16Array.of(3, 4, 5, 0, 1, 2),
  "drawn/places": Int16Array.of(0, 0, 0, 0, 0, 0, -4, 0, 4, 4, 0, 4),
  "drawn/pictures": Uint8Array.of(1, 0),
  "drawn/laid": Float32Array.of(0, 0.5, 0.25, 1, 2, 1, 0.4),
  "drawn/image/0": Uint8Array.of(7, 8, 9),
}, { "drawn/places": { scale: 0.125, offset: 0.5 } }));
const DRESSED = readDressed(PACK, "") as Dressed;
const POINTS = Float32Array.of(0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0);
const NORMALS = Float32Array.of(0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1);

const drawn = (colours: Float32Array) => new DrawnVertices(POINTS, NORMALS, colours, Uint32Array.of(0, 2, 3, 0, 1, 2), DRESSED);
const three = (vertices: DrawnVertices, name: string, at: number) =>
  [0, 1, 2].map((channel) => vertices.geometry.getAttribute(name).array[3 * at + channel]);

test("pictures of a pack are read with how each lies", () => {
  assert.deepEqual(DRESSED.laid, [{ image: 0, tint: [0.5, 0.25, 1], across: "clamped", down: "mirrored", cut: Math.fround(0.4) }]);
  assert.deepEqual([...DRESSED.images[0]], [7, 8, 9]);
  assert.deepEqual([...DRESSED.places.slice(6)], [0, 0.5, 1, 1, 0.5, 1]);
  assert.equal(readDressed(readPack(madePack({ kind: "cloth" }, {})), ""), null);
});

test("triangles of one picture are drawn together, each with its own material", () => {
  const { geometry } = drawn(new Float32Array(12));
  assert.deepEqual([...(geometry.index?.array ?? [])], [0, 1, 2, 3, 4, 5]);
  assert.deepEqual(geometry.groups, [{ start: 0, count: 3, materialIndex: 0 }, { start: 3, count: 3, materialIndex: 1 }]);
});

test("both sides of a cut move with the vertex that they are copies of", () => {
  const points = POINTS.slice();
  const vertices = new DrawnVertices(points, NORMALS, new Float32Array(12), new Uint32Array(6), DRESSED);
  points.set([5, 6, 7], 6);
  vertices.moved();
  for (const copy of [2, 4]) assert.deepEqual(three(vertices, "position", copy), [5, 6, 7]);
});

test("under a picture cloth is white as it is worn, and has the layer's colour when a layer is read", () => {
  const vertices = drawn(new Float32Array(12).fill(0.25));
  vertices.coloured(true);
  assert.deepEqual([1, 4].map((at) => three(vertices, "color", at)), [[0.25, 0.25, 0.25], [1, 1, 1]]);
  vertices.coloured(false);
  assert.deepEqual(three(vertices, "color", 4), [0.25, 0.25, 0.25]);
});
