import assert from "node:assert/strict";
import { test } from "node:test";
import { causeWords } from "../src/parts/tabs/faults_tab.ts";
import { restWords } from "../src/parts/verdict.ts";
import { sideWords } from "../src/parts/view_buttons.ts";
import { faultsOfLayer, layerOfFault } from "../src/fault_words.ts";
import { about, complaint, DEPTH } from "./abouts.ts";

function shares(...values: number[]) {
  return values.map((share, i) => ({ cause: `cause ${i}`, share, alone: 0, counterfactual: `change ${i}` }));
}

test("a complaint says its cause, or that none was found and what was tried", () => {
  const words = (more: object) => causeWords(complaint("a", "coat", "grave", more));
  assert.equal(words({ cause: "too tight by design", shares: shares(0.9) }), "Because: too tight by design.");
  assert.match(words({ shares: shares(0.3, 0.1) }), /^No cause was found: the best change that was tried removes 30\u202f% of it\.$/);
  assert.match(words({ shares: shares(0, -0.2, 0) }), /none of the 3 changes that were tried/);
  assert.match(words({ shares: shares(0) }), /Tried: change 0; it removes none of it/);
  assert.match(words({}), /nothing was swapped/);
  assert.match(causeWords(complaint("a", "coat", "grave"), true), /not known yet/); // while the check goes on
});

test("of many garments that are worn the rest has one line, which says whether anything is wrong with it", () => {
  assert.equal(restWords(["clean"]), "One more: clean at this shape");
  assert.equal(restWords(["grave", "clean", "slight", "clean"]), "4 more: 2 with faults at this shape");
  assert.equal(restWords(["slight", "slight"]), "2 more: all with faults at this shape");
});

test("the sides of a body are named as its wearer names them, however often one has gone round", () => {
  const quarter = Math.PI / 2;
  for (const turns of [-8, -4, 0, 4]) {
    const told = [0, 1, 2, 3].map((side) => sideWords((turns + side) * quarter + 0.3));
    assert.deepEqual(told, ["the front", "the left", "the back", "the right"]);
  }
});

test("a fault is shown by its layer where the About offers it, and a layer stands for its own fault first", () => {
  const told = about({ layers: [DEPTH] });
  assert.deepEqual(["depth", "inside", "exposed", "seam"].map((fault) => layerOfFault(told, fault)), ["depth", "depth", null, null]);
  assert.deepEqual([faultsOfLayer("depth"), faultsOfLayer("clearance"), faultsOfLayer("feet")], [["depth", "inside"], ["clearance"], []]);
});
