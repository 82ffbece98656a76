import assert from "node:assert/strict";
import { test } from "node:test";
import { AboutError, FORMAT, readAbout, type About, type GarmentAbout, type Severity } from "../src/data/about.ts";
import type { Slider } from "../src/data/schema.ts";
import { nearestShape } from "../src/data/inlined_source.ts";
import { closedWords } from "../src/data/socket.ts";
import { nameOf, shapeWords } from "../src/app/desk.ts";
import { laidOut } from "../src/parts/sliders.ts";
import { drawnKeys, firstState, Store } from "../src/state.ts";

function garment(key: string, severity: Severity = "clean", more: Partial<GarmentAbout> = {}): GarmentAbout {
  return {
    key, name: key, file: "", sha256: "", vertices: 3, triangles: 1, parts: [], severity, verdict: "", worst: null,
    method: "smooth", ease: "keep", colours: [], worn: false, notes: [], variant_of: "", variant: "", revision: 0,
    settings: null, ...more,
  };
}

const EMPTY = {
  format: FORMAT, life: "report", made: "", versions: {}, settings: {}, body: {}, bases: [], base: 0, sliders: [],
  garments: [], layers: [], shapes: [], clusters: [], shared: [], charts: {}, measures: [], animations: [], can: [],
  cautions: [], joints: [], check: { state: "none" },
};

function slider(name: string, y = 0, low = -0.5, high = 1): Slider {
  return { name, low, high, position_m: [0, y, 0] };
}

function about(more: Partial<About> = {}): About {
  const sliders = [slider("belly", 1.1), slider("legs", 0.5), slider("neck", 1.5), slider("arms", 1.2)];
  const header = { ...EMPTY, sliders, garments: [garment("coat"), garment("clogs", "grave")] };
  return { ...readAbout(header), ...more };
}

test("an About of another format is refused with both names", () => {
  assert.throws(() => readAbout({ ...EMPTY, format: "other/3" }), AboutError);
  assert.throws(() => readAbout({ ...EMPTY, format: "other/3" }), /other\/3; this page reads dressform-page\/2/);
});

for (const key of Object.keys(EMPTY).filter((name) => name !== "format")) {
  test(`an About without a usable "${key}" is refused by its name`, () => {
    const { [key]: _, ...rest }: Record<string, unknown> = EMPTY;
    assert.throws(() => readAbout(rest), new RegExp(`"${key}"`));
    assert.throws(() => readAbout({ ...EMPTY, [key]: null }), new RegExp(`"${key}"`));
  });
}

test("the page opens at the base, dressed, looking at the garment with the gravest fault", () => {
  const state = firstState(about());
  assert.deepEqual([state.weights, state.worn, state.focus], [[0, 0, 0, 0], ["coat", "clogs"], "clogs"]);
});

test("of a large wardrobe one garment is worn, unless the About says what is", () => {
  const many = Array.from({ length: 9 }, (_, i) => garment(`g${i}`, i === 4 ? "moderate" : "clean"));
  assert.deepEqual(firstState(about({ garments: many })).worn, ["g4"]);
  many[2].worn = true;
  assert.deepEqual(firstState(about({ garments: many })).worn, ["g2"]);
});

test("variants are not worn over the garment that they are of", () => {
  const garments = [garment("coat"), garment("coat repaired", "grave", { variant_of: "coat" })];
  assert.deepEqual(firstState(about({ garments })).worn, ["coat"]);
});

test("listeners hear of changes of their own keys only, and see both states", () => {
  const store = new Store(firstState(about()));
  const heard: string[] = [];
  store.on(["layer"], (now, before) => heard.push(`${before.layer} to ${now.layer}`));
  store.set({ cluster: "coat/1" });
  store.set({ layer: "depth" });
  store.set({ layer: "depth" });
  assert.deepEqual(heard, ["null to depth"]);
});

test("setting one weight leaves the old weights as they were", () => {
  const store = new Store(firstState(about()));
  const before = store.now.weights;
  store.setWeight(1, 0.4);
  assert.deepEqual([before, store.now.weights], [[0, 0, 0, 0], [0, 0.4, 0, 0]]);
});

test("two that are compared are drawn without the rest", () => {
  const state = firstState(about());
  assert.deepEqual(drawnKeys({ ...state, comparison: { a: "coat", b: "x", mode: "wipe", at: 0.5 } }), ["coat", "x"]);
});

test("sliders lie in the margins from the head down", () => {
  assert.deepEqual(laidOut(about()), { left: [2, 0], right: [3, 1] });
});

test("the nearest stored shape is measured in parts of each slider's interval", () => {
  const shapes = [[0, 0], [1, 0], [0, 10]].map((weights) => ({ label: "", weights, severity: {} }));
  const sliders = [slider("a", 0, 0, 1), slider("b", 0, 0, 100)];
  const told = about({ shapes, sliders });
  assert.deepEqual(nearestShape(told, [0, 1, 2], [0, 10]), { shape: 2, distance: 0 });
  assert.equal(nearestShape(told, [0, 1], [0.4, 90])!.shape, 0);
  assert.equal(nearestShape(told, [], [0, 0]), null);
});

test("a shape is told by its largest weights first", () => {
  assert.equal(shapeWords(about(), [0.25, 0, -0.5, 0.001]), "neck −0.5, belly 0.25");
  assert.equal(shapeWords(about(), [0.25, 1, -0.5, 0], 1), "legs 1 and 2 more");
  assert.equal(shapeWords(about(), [0, 0, 0, 0]), "the base body");
});

test("garments of one name are told apart by how they differ", () => {
  const garments = [garment("coat", "clean", { name: "oil_coat" }), garment("coat 2", "clean", { name: "oil_coat", variant: "repaired" })];
  assert.equal(nameOf(about({ garments }), "coat 2"), "oil coat, repaired");
  assert.equal(nameOf(about({ garments }), "coat"), "oil coat");
});

test("each way that a socket closes has its own words", () => {
  assert.equal(new Set([1001, 1006, 1009, 1013].map(closedWords)).size, 4);
});
