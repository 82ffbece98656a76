import assert from "node:assert/strict";
import { test } from "node:test";
import { dab } from "../src/stage/dab.ts";
import { hems } from "../src/stage/hems.ts";
import { Vector3 } from "three";
import { Orbit } from "../src/stage/orbit.ts";
import { QualityWatch } from "../src/stage/quality.ts";
import { freeAspect, passesOf } from "../src/stage/passes.ts";
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

test("a body that is framed fits, from the front and from the side, in a wide and in a narrow frame", () => {
  const orbit = new Orbit(() => undefined, () => true);
  const bounds = { low: new Vector3(-0.8, 0, -0.2), high: new Vector3(0.8, 1.7, 0.2) };
  for (const [azimuth, across] of [[0, 1.6], [Math.PI / 2, 0.4]]) {
    for (const aspect of [2, 0.5]) {
      orbit.frame(bounds, azimuth, aspect);
      orbit.update(0);
      const height = 2 * orbit.distance * Math.tan((orbit.camera.fov * Math.PI) / 360);
      assert.ok(height > 1.7 && height * aspect > across, `${azimuth} ${aspect}`);
      assert.ok(height < 1.2 * 1.7 || height * aspect < 1.2 * across, "and is not smaller than it must be");
    }
  }
});

test("turning keeps a body whole; coming nearer and moving aside do not", () => {
  const bounds = { low: new Vector3(-0.8, 0, -0.2), high: new Vector3(0.8, 1.7, 0.2) };
  const left = [(o: Orbit) => o.zoom(0.9), (o: Orbit) => o.shift(5, 0, 500), (o: Orbit) => o.glideTo(new Vector3(), 1, 0, 0)];
  for (const [acts, isFramed] of [[[(o: Orbit) => o.turn(9, 3), (o: Orbit) => o.turnTo(1)], true], [left, false]] as const) {
    for (const act of acts) {
      const orbit = new Orbit(() => undefined, () => true);
      orbit.frame(bounds, 0, 1);
      act(orbit);
      assert.equal(orbit.isFramed, isFramed);
    }
  }
});

test("near by begins where the camera is clearly nearer than the whole body needs", () => {
  const orbit = new Orbit(() => undefined, () => true);
  orbit.frame({ low: new Vector3(-0.8, 0, -0.2), high: new Vector3(0.8, 1.7, 0.2) }, 0, 1);
  assert.ok(orbit.isFar);
  orbit.zoom(0.95);
  assert.ok(orbit.isFar);
  orbit.zoom(0.7);
  assert.equal(orbit.isFar, false);
});

test("two that are compared share the width that is free, and a wipe divides one picture", () => {
  const room = { width: 1000, margin: 200 };
  const [left, right] = passesOf({ a: "x", b: "y", mode: "beside", at: 0.5 }, ["z"], room);
  assert.deepEqual([left.left, left.width, left.to, right.left, right.width], [200, 300, 500, 500, 300]);
  const [first, second] = passesOf({ a: "x", b: "y", mode: "wipe", at: 0.25 }, ["z"], room);
  assert.deepEqual([first.to, second.from, first.width, second.width], [350, 350, 1000, 1000]);
  assert.deepEqual(passesOf(null, ["z"], room)[0].keys, ["z"]);
  assert.equal(freeAspect(left, room, 600), 0.5);
  assert.equal(freeAspect(first, room, 600), 1);
});

test("an orbit neither goes over the head nor through the body", () => {
  const orbit = new Orbit(() => undefined, () => true);
  orbit.turn(0, 1e6);
  assert.ok(orbit.elevation < Math.PI / 2);
  orbit.zoom(1e-9);
  assert.ok(orbit.distance > 0.1);
});

test("quality goes down step by step where frames come late, and never for one late frame", () => {
  const watch = new QualityWatch();
  for (let i = 0; i < 50; i++) assert.equal(watch.note(i % 3 ? 200 : 8), false);
  const steps = Array.from({ length: 20 }, () => (watch.note(200), watch.quality));
  assert.deepEqual([...new Set(steps)], ["full", "reduced", "lowest"]);
  assert.equal(watch.note(5), false);
  assert.equal(watch.quality, "lowest");
});

test("a hem is an edge of one triangle alone", () => {
  const edges = hems(Uint32Array.of(0, 1, 2, 0, 2, 3));
  const pairs = new Set(Array.from({ length: edges.length / 2 }, (_, i) => [edges[2 * i], edges[2 * i + 1]].sort().join(" ")));
  assert.deepEqual(pairs, new Set(["0 1", "1 2", "2 3", "0 3"]));
  assert.equal(hems(Uint32Array.of(0, 1, 2, 0, 2, 1)).length, 0);
});
