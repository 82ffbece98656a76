import assert from "node:assert/strict";
import { test } from "node:test";
import type { LayerAbout } from "../src/data/about.ts";
import { along, CLASS_STOPS, CLOTH_STOPS, css, decode, DIVERGING_STOPS, encode, oklabToLinear, SKIN_STOPS, STEPS, type Lab } from "../src/draw/colour.ts";
import { inWords, paint, scaleOf, withUnit } from "../src/draw/scale.ts";

const SCALES: Record<string, readonly Lab[]> = { cloth: CLOTH_STOPS, skin: SKIN_STOPS, drift: DIVERGING_STOPS, class: CLASS_STOPS };
// Linear light as it is seen without one kind of cone [Vienot1999].
const EYES: Record<string, number[][]> = {
  "all cones": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  "no green cone": [[0.29275, 0.70725, -0.02234], [0.29275, 0.70725, -0.02234], [-0.02234, 0.02234, 1]],
  "no red cone": [[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]],
};

function seen(eyes: number[][], lab: Lab): number[] {
  const linear = oklabToLinear(lab);
  return eyes.map((row) => row.reduce((sum, share, i) => sum + share * linear[i], 0));
}

function luminance([r, g, b]: readonly number[]): number {
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function layer(more: Partial<LayerAbout>): LayerAbout {
  return { name: "depth", label: "depth", unit: "mm", on: "cloth", kind: "rising", low: 0, high: 10, meaning: "", classes: [], ...more };
}

test("lightness one is white and the red of sRGB has its published place", () => {
  for (const channel of oklabToLinear([1, 0, 0])) assert.ok(Math.abs(channel - 1) < 2e-6);
  const red = oklabToLinear([0.6279554, 0.2248631, 0.1258463]);
  [1, 0, 0].forEach((wanted, i) => assert.ok(Math.abs(red[i] - wanted) < 1e-5));
});

for (const [name, stops] of Object.entries(SCALES)) {
  test(`every colour of the ${name} scale lies inside sRGB`, () => {
    const places = name === "class" ? stops.map((_, i) => i / (stops.length - 1)) : Array.from({ length: 201 }, (_, i) => i / 200);
    for (const place of places) for (const channel of oklabToLinear(along(stops, place))) assert.ok(channel >= 0 && channel <= 1);
  });
}

for (const [name, eyes] of Object.entries(EYES)) {
  test(`lightness falls with the value for eyes with ${name}`, () => {
    for (const stops of [CLOTH_STOPS, SKIN_STOPS]) {
      const light = Array.from({ length: 21 }, (_, i) => luminance(seen(eyes, along(stops, i / 20))));
      for (let i = 1; i < light.length; i++) assert.ok(light[i] < light[i - 1] - 0.005);
    }
  });

  test(`classes differ in lightness for eyes with ${name}`, () => {
    const light = CLASS_STOPS.map((lab) => luminance(seen(eyes, lab)));
    for (let i = 0; i < light.length; i++) for (let j = 0; j < i; j++) assert.ok(Math.abs(light[i] - light[j]) > 0.02);
  });
}

test("sRGB encoding and decoding are inverse", () => {
  for (let i = 0; i <= 100; i++) assert.ok(Math.abs(encode(decode(i / 100)) - i / 100) < 1e-6);
});

test("white is written as CSS writes it", () => assert.equal(css([1, 0, 0]), "rgb(255 255 255)"));

test("values outside a scale and values that are missing take the colours of its ends", () => {
  const scale = scaleOf(layer({ low: 2, high: 4 }));
  const out = new Float32Array(15);
  paint(scale, [-9, 2, 4, 99, NaN], out);
  assert.deepEqual(out.slice(0, 3), out.slice(3, 6));
  assert.deepEqual(out.slice(6, 9), out.slice(9, 12));
  assert.deepEqual(out.slice(12, 15), out.slice(0, 3));
  assert.deepEqual(out.slice(6, 9), scale.table.slice(3 * (STEPS - 1)));
});

test("the middle of a diverging scale is its palest colour", () => {
  const { table } = scaleOf(layer({ kind: "diverging", low: -20, high: 20 }));
  const light = Array.from({ length: STEPS }, (_, i) => luminance([...table.slice(3 * i, 3 * i + 3)]));
  assert.ok(Math.abs(light.indexOf(Math.max(...light)) - STEPS / 2) <= 1);
});

test("each class has its own colour and its own words", () => {
  const classes = layer({ kind: "classes", low: 0, high: 2, unit: "", classes: ["proven", "checked", "left out"] });
  const out = new Float32Array(9);
  paint(scaleOf(classes), [0, 1, 2], out);
  assert.equal(new Set([0, 3, 6].map((at) => out.slice(at, at + 3).join())).size, 3);
  assert.equal(inWords(classes, 1), "checked");
});

test("a value has its unit, a true minus sign, and digits that suit its scale", () => {
  assert.equal(inWords(layer({}), 3.14159), "3.1\u202fmm");
  assert.equal(withUnit(-123.4, "cm²"), "−123\u202fcm²");
  assert.equal(withUnit(-0.0001, "", 1), "0");
  assert.equal(withUnit(0, "mm"), "0\u202fmm");
  assert.equal(inWords(layer({}), NaN), "no value");
});
