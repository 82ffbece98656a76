import assert from "node:assert/strict";
import { test } from "node:test";
import { dab } from "../src/stage/dab.ts";
import { Orbit } from "../src/stage/orbit.ts";
import { Thrift } from "../src/stage/thrift.ts";
import { nearestHit, valueAt, vertexAt, type Hit } from "../src/stage/pick.ts";

const SQUARE = Float32Array.of(0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, -1, 1, 0, -1, 1, 1, -1);
const FACES = Uint32Array.of(4, 5, 6, 0, 1, 2, 0, 2, 3);
const fresh = (): Hit => ({ face: -1, distance: Infinity, u: 0, v: 0 });

test("a ray meets the nearest triangle where it lies, from either side", () => {
  const hit = fresh();
  assert.ok(nearestHit([0.75, 0.25, 5], [0, 0, -1], SQUARE, FACES, Infinity, hit));
  assert.equal(hit.face, 1);
  assert.ok(Math.abs(hit.distance - 5) < 1e-9);
  assert.ok(nearestHit([0.75, 0.25, -5], [0, 0, 1], SQUARE, FACES, Infinity, hit));
  assert.equal(hit.face, 0);
});

test("a ray that misses, ends too soon or points away meets nothing", () => {
  assert.equal(nearestHit([2, 2, 5], [0, 0, -1], SQUARE, FACES, Infinity, fresh()), false);
  assert.equal(nearestHit([0.75, 0.25, 5], [0, 0, -1], SQUARE, FACES, 4.9, fresh()), false);
  assert.equal(nearestHit([0.75, 0.25, 5], [0, 0, 1], SQUARE, FACES, Infinity, fresh()), false);
});

test("a linear field is read exactly between the corners", () => {
  const hit = fresh();
  nearestHit([0.7, 0.2, 5], [0, 0, -1], SQUARE, FACES, Infinity, hit);
  const field = Array.from({ length: 7 }, (_, i) => 3 * SQUARE[3 * i] - 2 * SQUARE[3 * i + 1]);
  assert.ok(Math.abs(valueAt(hit, FACES, field) - (3 * 0.7 - 2 * 0.2)) < 1e-6);
  assert.equal(vertexAt(hit, FACES), 1);
});

test("a dab draws the strength towards its value, fully in the middle, not at all at the rim or on the far side", () => {
  const points = Float32Array.of(0, 0, 0, 0.05, 0, 0, 0.1, 0, 0, 0, 0, -0.01);
  const normals = Float32Array.of(0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, -1);
  const mask = Float32Array.of(1, 1, 1, 1);
  const stroke = { centre: [0, 0, 0], facing: [0, 0, 1], radius: 0.1, value: 0.2 } as const;
  assert.ok(dab(points, normals, stroke, mask));
  assert.ok(Math.abs(mask[0] - 0.2) < 1e-6);
  assert.ok(Math.abs(mask[1] - 0.6) < 1e-6); // half of the way at half the radius
  assert.deepEqual([...mask.slice(2)], [1, 1]);
  assert.equal(dab(points, normals, { ...stroke, centre: [5, 5, 5] }, mask), false);
});

test("a view that is set is the view that is got", () => {
  const orbit = new Orbit(() => undefined, () => true);
  const view = { position: [1.5, 1.2, -2], target: [0.1, 0.9, 0.05] } as const;
  orbit.view = view;
  orbit.update(0);
  const got = orbit.view;
  for (const part of ["position", "target"] as const) got[part].forEach((value, i) => assert.ok(Math.abs(value - view[part][i]) < 1e-9));
});

test("gliding ends where it should, at once for those who want no movement", () => {
  const orbit = new Orbit(() => undefined, () => true);
  const target = orbit.target.clone().set(0.2, 1.1, 0);
  orbit.glideTo(target, 0.8, 1, 0.1);
  assert.equal(orbit.update(performance.now()), false);
  assert.equal(orbit.distance, 0.8);
  const moving = new Orbit(() => undefined, () => false);
  moving.glideTo(target, 0.8, 1, 0.1);
  assert.equal(moving.update(performance.now() + 100), true);
  assert.equal(moving.update(performance.now() + 10_000), false);
  assert.ok(Math.abs(moving.azimuth - 1) < 1e-9 && Math.abs(moving.distance - 0.8) < 1e-9);
});

test("an orbit neither goes over the head nor through the body", () => {
  const orbit = new Orbit(() => undefined, () => true);
  orbit.turn(0, 1e6);
  assert.ok(orbit.elevation < Math.PI / 2);
  orbit.zoom(1e-9);
  assert.ok(orbit.distance > 0.1);
});

test("splendour is given up step by step where frames come late, and never for one late frame", () => {
  const thrift = new Thrift();
  for (let i = 0; i < 50; i++) assert.equal(thrift.note(i % 3 ? 200 : 8), false);
  const steps = Array.from({ length: 20 }, () => (thrift.note(200), thrift.splendour));
  assert.deepEqual([...new Set(steps)], ["full", "moderate", "bare"]);
  assert.equal(thrift.note(5), false);
  assert.equal(thrift.splendour, "bare");
});
