import assert from "node:assert/strict";
import { test } from "node:test";
import { read, written } from "../src/app/address.ts";
import { firstState } from "../src/state.ts";
import { about, complaint, DEPTH } from "./abouts.ts";

const told = about({ layers: [DEPTH], clusters: [complaint("clogs/1", "clogs", "grave")], bases: ["woman", "man & co"] });
const view = { position: [1.5, 1.2, -2.25], target: [0.1, 0.9, 0] } as const;
const mark = { garment: "clogs", position: [0.1, 0.2, 0.3], vertex: 7, words: "left toe, 4 cm up; 100 % & more" } as const;
const state = {
  ...firstState(told), base: 1, weights: [0.37, 0, -0.5, 1], worn: ["clogs", "coat"], focus: "coat", layer: "depth", cluster: "clogs/1", mark,
};

test("what is written into an address is read from it again", () => {
  const { base, weights, joints, pose, worn, focus, layer, cluster } = state;
  assert.deepEqual(read(`#${written(state, view)}`, told), { base, weights, joints, pose, worn, focus, layer, cluster, mark, view });
  const slid = { ...told, joint_sliders: [{ name: "arms", low: -1, high: 1, position_m: [0, 1, 0] as [number, number, number], ends: [0] }] };
  const address = written({ ...state, about: slid, joints: [-0.25] }, view);
  assert.deepEqual(read(address, slid)!.joints, [-0.25]);
  assert.deepEqual(read(address, told)!.joints, []);
});

test("a stance and a moment of an animation are read again by name; joints turned by hand are not kept", () => {
  const moving = { ...told, stances: [{ name: "arms forward", origin: "" }, { name: "sit", origin: "" }], animations: [{ name: "walk at ease", duration_s: 1.2, count: 5 }] };
  const poses = [{ stance: 1 }, { animation: 0, time: 0.75 }, { turns: { arm: [0, 0, 0, 1] as const } }];
  const found = poses.map((pose) => read(written({ ...state, about: moving, pose }, view), moving)!.pose);
  assert.deepEqual(found, [{ stance: 1 }, { animation: 0, time: 0.75 }, null]);
  assert.equal(read(written({ ...state, about: moving, pose: { stance: 1 } }, view), told)!.pose, null);
});

test("nothing worn is read as nothing worn", () => {
  const bare = { ...state, worn: [], focus: "", layer: null, cluster: null, mark: null };
  const place = read(written(bare, view), told)!;
  assert.deepEqual([place.worn, place.focus, place.layer, place.cluster, place.mark], [[], "", null, null, null]);
});

test("an address that no page wrote is left alone", () => {
  for (const address of ["", "#places", "#eye=1 2&at=0 0 0", "#eye=a b c&at=0 0 0"]) assert.equal(read(address, told), null);
});

test("weights beyond the range are taken into it, and what the About lacks is left out", () => {
  const address = "#eye=1 1 1&at=0 1 0&slider.belly=9&slider.legs=x&slider.tail=1&worn=kilt&worn=coat&garment=kilt&layer=x&complaint=x&base=child&pin=oops";
  const place = read(address, told)!;
  assert.deepEqual(place.weights, [1, 0, 0, 0]);
  assert.deepEqual([place.worn, place.focus, place.layer, place.cluster, place.mark, place.base], [["coat"], "coat", null, null, null, told.base]);
});
