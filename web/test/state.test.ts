import assert from "node:assert/strict";
import { test } from "node:test";
import { AboutError, readAbout } from "../src/data/about.ts";
import { nearestShape } from "../src/data/inlined_source.ts";
import { closedWords } from "../src/data/socket.ts";
import { nameOf, rootOf, shapeWords } from "../src/naming.ts";
import { laidOut } from "../src/parts/sliders.ts";
import { carriedOver, drawnKeys, firstState, graverPosed, gravestComplaint, standing, Store } from "../src/state.ts";
import { about, complaint, EMPTY, garment, slider } from "./abouts.ts";

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

test("without complaints the page opens at the base, dressed, looking at the garment with the gravest fault", () => {
  const state = firstState(about());
  assert.deepEqual([state.weights, state.worn, state.focus], [[0, 0, 0, 0], ["coat", "clogs"], "clogs"]);
});

test("with complaints the page opens in the garment of the gravest one alone", () => {
  const clusters = [complaint("coat/1", "coat", "slight"), complaint("clogs/1", "clogs", "moderate")];
  const told = about({ clusters });
  assert.deepEqual([firstState(told).worn, firstState(told).focus], [["clogs"], "clogs"]);
  assert.equal(gravestComplaint(told)?.id, "clogs/1");
});

test("of a stance that the page cannot take no complaint is shown as the gravest", () => {
  const posed = { ...complaint("coat/1", "coat", "grave"), stance: "sit" };
  const told = about({ clusters: [posed, complaint("clogs/1", "clogs", "slight")] });
  assert.equal(gravestComplaint(told)?.id, "clogs/1");
  assert.equal(gravestComplaint({ ...told, stances: [{ name: "sit", origin: "" }] })?.id, "coat/1");
});

test("the worst of a stance goes before complaints that are all milder, and before no other", () => {
  const posed = { garment: "coat", stance: 0, label: "", weights: [], joints: [], severity: "grave" as const, fault: "exposed" as const, words: "" };
  const told = about({ clusters: [complaint("clogs/1", "clogs", "slight")], posed: [posed], stances: [{ name: "bow", origin: "" }] });
  assert.equal(graverPosed(told), posed);
  assert.equal(graverPosed({ ...told, stances: [] }), null); // which the page cannot take
  assert.equal(graverPosed({ ...told, clusters: [complaint("clogs/1", "clogs", "grave")] }), null);
});

test("an open complaint stays open under its new number, and no other is opened in its stead", () => {
  const at = (id: string, x: number) => {
    const one = complaint(id, "coat", "grave");
    return { ...one, place: { ...one.place, position_m: [x, 1, 0.2] as [number, number, number] } };
  };
  const before = { about: about({ clusters: [at("coat/1", 0), at("coat/2", 0.5)] }), cluster: "coat/1" };
  assert.equal(carriedOver(before, about({ clusters: [at("coat/1", 0.5), at("coat/2", 0.03)] })), "coat/2");
  assert.equal(carriedOver(before, about({ clusters: [at("coat/1", 0.5)] })), null);
  assert.equal(carriedOver({ ...before, cluster: null }, before.about), null);
});

test("a place that is no fault is no complaint", () => {
  const told = about({ clusters: [complaint("coat/1", "coat", "clean")] });
  assert.equal(gravestComplaint(told), null);
  assert.deepEqual(firstState(told).worn, ["coat", "clogs"]);
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

test("sliders that move joints join whatever pose there is, in one object for the same two", () => {
  const place: [number, number, number] = [0, 1, 0];
  const shown = { ...about(), joint_sliders: [{ name: "arms", low: -1, high: 1, position_m: place, ends: [] }, { name: "legs", low: 0, high: 1, position_m: place, ends: [] }] };
  const store = new Store(firstState(shown));
  assert.equal(standing(store.now), null);
  store.setJoint(0, 0.5);
  assert.deepEqual(standing(store.now), { turns: {}, sliders: { arms: 0.5 } });
  store.set({ pose: { stance: 2 } });
  assert.deepEqual(standing(store.now), { stance: 2, sliders: { arms: 0.5 } });
  assert.equal(standing(store.now), standing(store.now));
  store.setJoint(0, 0);
  assert.equal(standing(store.now), store.now.pose);
  assert.equal(shapeWords(shown, [0, 0, 0, 0], Infinity, [0, 1]), "legs 1");
});

test("sliders lie in the margins from the head down", () => {
  assert.deepEqual(laidOut(about().sliders), { left: [2, 0], right: [3, 1] });
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

test("another version leads back to its garment, and a garment to itself", () => {
  const garments = [garment("coat"), garment("coat 2", "clean", { variant_of: "coat" })];
  const told = about({ garments });
  assert.deepEqual([rootOf(told, "coat 2"), rootOf(told, "coat"), rootOf(told, "gone")], ["coat", "coat", "gone"]);
});

test("each way that a socket closes has its own words", () => {
  assert.equal(new Set([1001, 1006, 1009, 1013].map((code) => closedWords(code))).size, 4);
  assert.match(closedWords(1006, false), /started anew: open the address that it printed last/);
});
