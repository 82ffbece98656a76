import assert from "node:assert/strict";
import { test } from "node:test";
import { linear, ticksOf } from "../src/parts/charts/draw_svg.ts";
import { change } from "../src/parts/tabs/compare_tab.ts";
import { nearest } from "../src/parts/charts/curves.ts";
import { placeWords } from "../src/parts/pointer.ts";
import { keyBeside, momentOf, turnsOf } from "../src/parts/tabs/pose_tab.ts";
import { faultAlong, profileOf } from "../src/parts/charts/profile.ts";

test("ticks are round, inside the interval and about as many as wished", () => {
  assert.deepEqual(ticksOf(0, 1, 4), [0, 0.5, 1]);
  assert.deepEqual(ticksOf(-10, 40, 5), [-10, 0, 10, 20, 30, 40]);
  assert.deepEqual(ticksOf(0, 0.037, 3), [0, 0.02]);
  for (const [low, high] of [[0, 7.3], [-0.2, 0.9], [3, 1000]]) {
    const ticks = ticksOf(low, high, 4);
    assert.ok(ticks.length >= 2 && ticks.length <= 8 && ticks.every((tick) => tick >= low - 1e-9 && tick <= high + 1e-9));
  }
  assert.deepEqual(ticksOf(2, 2, 3), [2]);
});

test("a linear place maps both ends and an empty interval to its start", () => {
  const place = linear(2, 4, 100, 0);
  assert.deepEqual([place(2), place(3), place(4)], [100, 50, 0]);
  assert.equal(linear(1, 1, 5, 9)(1), 5);
});

test("the nearest point of all curves is found, far from all of them none", () => {
  const curve = (slider: number, points: number[][]) => ({ slider, name: "", points: points.map(([x, y]) => ({ x, y, weight: x, value: y })) });
  const curves = [curve(0, [[0, 0], [10, 10]]), curve(3, [[40, 0]])];
  assert.deepEqual(nearest(curves, 12, 9), { curve: 0, point: 1 });
  assert.deepEqual(nearest(curves, 41, 3), { curve: 1, point: 0 });
  assert.equal(nearest(curves, 200, 200), null);
});

test("the fault along the sliders is the layer's where it was charted, else skin that shows", () => {
  const pairs = { fault: "depth", unit: "mm", values: [], weights: [] } as const;
  const charts = { weights: { belly: { at: [0], values: { depth: [0], exposed: [0], clearance: [1] } } }, clearance: null, pairs: { ...pairs, values: [], weights: [] } };
  assert.equal(faultAlong(charts, "clearance"), "clearance");
  assert.equal(faultAlong(charts, "pucker"), "exposed");
  assert.equal(faultAlong(charts, null), "exposed");
  assert.equal(faultAlong(undefined, "depth"), null);
});

test("a place is told by the wearer's own sides", () => {
  assert.equal(placeWords({ x: 0.2, y: 1.234, z: 0.1 }), "front left, 123 cm up");
  assert.equal(placeWords({ x: -0.2, y: 0.5, z: -0.1 }), "back right, 50 cm up");
  assert.equal(placeWords({ x: 0.01, y: 1, z: 0 }), "front middle, 100 cm up");
});

test("an animation goes round, and its keys are stepped both ways", () => {
  assert.ok(Math.abs(momentOf({ name: "walk", duration_s: 2, count: 3 }, 5) - 1) < 1e-12);
  assert.equal(momentOf({ name: "still", duration_s: 0, count: 1 }, 5), 0);
  const keys = [0, 0.5, 1];
  assert.deepEqual([keyBeside(keys, 0.5, 1), keyBeside(keys, 0.5, -1), keyBeside(keys, 1, 1), keyBeside(keys, 0, -1)], [1, 0, 0, 1]);
  assert.equal(keyBeside([], 0.3, 1), 0.3);
});

test("a joint turned about one axis has the quaternion of half the angle", () => {
  const turns = turnsOf(new Map([["elbow", [90, 0, 0] as const], ["neck", [0, 0, 0] as const]]));
  turns.elbow.forEach((value, i) => assert.ok(Math.abs(value - [Math.SQRT1_2, 0, 0, Math.SQRT1_2][i]) < 1e-12));
  assert.deepEqual([...turns.neck], [0, 0, 0, 1]);
});

test("a change has its sign", () => {
  assert.equal(change(2, 12), "+10.0");
  assert.equal(change(12, 2), "−10.0");
  assert.equal(change(3, 3), "same");
});

test("a fault that no slider changes has no hill under any", () => {
  const curve = (values: number[]) => ({ at: [0, 1], values: { exposed: values } });
  const state = (values: number[]) => ({ about: { charts: { coat: { weights: { belly: curve(values) } } } }, focus: "coat", layer: null });
  assert.equal(profileOf(state([7, 7]) as never, "belly"), null);
  assert.equal(profileOf(state([0, 7]) as never, "belly")?.most, 7);
});
