import assert from "node:assert/strict";
import { test } from "node:test";
import { Vector3 } from "three";
import { ofUse } from "../src/parts/layers.ts";
import { highestOf } from "../src/parts/legend.ts";
import { aroundAll, Orbit } from "../src/stage/orbit.ts";
import { about, complaint, DEPTH } from "./abouts.ts";

const BENT = { ...DEPTH, name: "bent" };

test("a layer stands in the row at once where its fault was found", () => {
  const told = complaint("coat/1", "coat", "slight");
  const bent = { ...told, place: { ...told.place, fault: "bent" as const } };
  assert.equal(ofUse(about({ layers: [DEPTH, BENT] })).has("bent"), false);
  assert.equal(ofUse(about({ layers: [DEPTH, BENT], clusters: [bent] })).has("bent"), true);
});

test("the legend names the value farthest from nothing, whatever has no value, and none before it is measured", () => {
  const faults = { layers: new Map([["depth/coat", Float32Array.of(1, NaN, -3, 2)]]), figures: {}, girths: {}, severity: {}, measuredAt: {} };
  assert.equal(highestOf({ faults, isMeasured: true, focus: "coat" }, DEPTH), -3);
  assert.equal(highestOf({ faults, isMeasured: false, focus: "coat" }, DEPTH), null);
  assert.equal(highestOf({ faults, isMeasured: true, focus: "clogs" }, DEPTH), null);
});

test("a hat over the head is part of the whole that is framed, and what is within is no reason to move", () => {
  const box = (low: number, high: number) => ({ low: new Vector3(-0.5, low, -0.2), high: new Vector3(0.5, high, 0.2) });
  const body = box(0, 1.7), hat = box(1.6, 1.9);
  const orbit = new Orbit(() => undefined, () => true);
  orbit.frame(body, 0, 1, true);
  assert.equal(orbit.holds(aroundAll([body, box(0.3, 1.2)])), true);
  assert.equal(orbit.holds(aroundAll([body, hat])), false);
  orbit.frame(aroundAll([body, hat]), 0, 1, true);
  assert.equal(orbit.holds(hat), true);
});
