import assert from "node:assert/strict";
import { test } from "node:test";
import { Blender } from "../src/data/blend.ts";
import { clearances } from "../src/data/clearance.ts";
import { readBody, readCloth, readLayers, readLiveCloth } from "../src/data/meshes.ts";
import { vertexNormals } from "../src/data/normals.ts";
import { readPack } from "../src/data/pack.ts";
import { madePack } from "./packs.ts";

/** A tetrahedron with its corners on the axes; normals by symmetry. */
const POINTS = Float32Array.of(1, 1, 1, -1, -1, 1, -1, 1, -1, 1, -1, -1);
const FACES = Uint32Array.of(0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3);

test("blending adds every morph times its weight to the base", () => {
  const buffer = madePack(
    { kind: "body", morphs: ["long", "still", "wide"] },
    { faces: Uint16Array.of(0, 1, 2), base: Float32Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0), "delta/0": Int16Array.of(0, 10, 0, 0, 20, 0, 0, 0, 0), "delta/2": Float32Array.of(1, 0, 0, 0, 0, 0, 0, 0, 0) },
    { "delta/0": { scale: 0.1 } },
  );
  const body = readBody(readPack(buffer));
  const blender = new Blender(body);
  assert.deepEqual([...blender.moveTo([0.5, 7, -2])], [-2, 0.5, 0, 1, 1, 0, 0, 1, 0]);
  assert.deepEqual([...blender.moveTo([0, 0, 0])], [...body.base]);
});

test("ten thousand turns of the sliders end where one would", () => {
  const count = 60;
  const noise = (i: number) => Math.sin(12.9898 * i) * 0.05;
  const arrays: Record<string, Float32Array | Uint16Array> = { faces: Uint16Array.of(0, 1, 2), base: Float32Array.from({ length: count }, (_, i) => noise(i) * 20) };
  const morphs = ["a", "b", "c", "d", "e", "f"];
  morphs.forEach((_, k) => (arrays[`delta/${k}`] = Float32Array.from({ length: count }, (__, i) => noise(i + 100 * k))));
  const body = readBody(readPack(madePack({ kind: "body", morphs }, arrays)));
  const blender = new Blender(body);
  const weights = morphs.map(() => 0);
  for (let turn = 0; turn < 10_000; turn++) {
    weights[turn % morphs.length] = Math.cos(turn);
    blender.moveTo(weights);
  }
  const once = new Blender(body).moveTo(weights);
  blender.points.forEach((value, i) => assert.ok(Math.abs(value - once[i]) < 1e-5));
});

test("a mesh without morphs stays at its base", () => {
  const body = readBody(readPack(madePack({ kind: "body" }, { faces: FACES, base: POINTS })));
  assert.deepEqual(new Blender(body).moveTo([3, 4]), POINTS);
});

test("normals of a regular tetrahedron point from its middle to its corners", () => {
  const out = new Float32Array(POINTS.length);
  vertexNormals(POINTS, FACES, out);
  for (let i = 0; i < out.length; i++) assert.ok(Math.abs(out[i] - POINTS[i] / Math.sqrt(3)) < 1e-6);
});

test("a vertex of no triangle has a normal all the same", () => {
  const out = new Float32Array(12);
  vertexNormals(POINTS, Uint32Array.of(0, 1, 2), out);
  assert.deepEqual([...out.slice(9)], [0, 1, 0]);
});

test("cloth offset along the skin's normal has the offset as its clearance, inside negative", () => {
  const body = Float32Array.of(0, 0, 0, 1, 0, 0, 0, 0, 1);
  const normals = Float32Array.of(0, 1, 0, 0, 1, 0, 0, 1, 0);
  const feet = { corners: Uint32Array.of(0, 1, 2, 0, 1, 2), shares: Float32Array.of(0.5, 0.25, 0.25, 0, 1, 0) };
  const out = new Float32Array(2);
  clearances(Float32Array.of(0.25, 0.02, 0.25, 1, -0.005, 0), body, normals, feet, out);
  assert.ok(Math.abs(out[0] - 0.02) < 1e-7 && Math.abs(out[1] + 0.005) < 1e-7);
});

test("a garment reads the same from a report and from a live answer", () => {
  const arrays = { faces: Uint16Array.of(0, 1, 2), base: new Float32Array(9), parts: Uint8Array.of(3) };
  const feet = { corners: Uint16Array.of(0, 1, 2), shares: Float32Array.of(1, 0, 0) };
  const still = readCloth(readPack(madePack({ kind: "cloth", garment: "clogs smooth" }, { ...arrays, ...feet })));
  const prefixed = (prefix: string, what: object) => Object.fromEntries(Object.entries(what).map(([name, data]) => [prefix + name, data]));
  const live = readLiveCloth(
    readPack(madePack({ kind: "meshes" }, { ...prefixed("cloth/clogs smooth/", arrays), ...prefixed("feet/clogs smooth/", feet) })),
    "clogs smooth",
  );
  assert.deepEqual(live, still);
});

test("layers are found by the rest of their name, in real numbers", () => {
  const layers = readLayers(readPack(madePack({ kind: "layers" }, { "layer/depth": Uint8Array.of(0, 4), other: Uint8Array.of(1) }, { "layer/depth": { scale: 0.25 } })));
  assert.deepEqual([...layers.keys()], ["depth"]);
  assert.deepEqual([...layers.get("depth")!], [0, 1]);
});

test("a pack without its base is refused by name", () => {
  assert.throws(() => readBody(readPack(madePack({ kind: "body" }, { faces: FACES }))), /body lack the array base/);
});
