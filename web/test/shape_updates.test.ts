import assert from "node:assert/strict";
import { test } from "node:test";
import { ShapeUpdates } from "../src/app/shape_updates.ts";
import type { Context } from "../src/context.ts";
import type { BodyMesh } from "../src/data/meshes.ts";
import type { ShapeQuery } from "../src/data/source.ts";
import { firstState, Store } from "../src/state.ts";
import { about } from "./abouts.ts";

/** A page without a picture: what was asked for, and how many frames. */
function page(isLive: boolean) {
  const asked: (readonly number[])[] = [];
  const stage = { frames: 0, beforeFrame: () => undefined, request: () => void stage.frames++, moveTo: () => stage.request() };
  const source = { isLive, follow: ({ weights }: ShapeQuery) => void asked.push(weights) };
  const store = new Store(firstState(about()));
  const updates = new ShapeUpdates({ store, source, stage } as unknown as Context);
  updates.body = {} as BodyMesh;
  return { asked, stage, store };
}

test("live, a moved slider asks the program at once and draws nothing before its answer", () => {
  const { asked, stage, store } = page(true);
  store.setWeight(0, 0.5);
  assert.deepEqual(asked.map((weights) => weights[0]), [0.5]);
  assert.equal(stage.frames, 0); // a frame of the old shape would only delay that of the new one
});

test("in a report, sliders moved within one frame are added up once, in that frame", () => {
  const { asked, stage, store } = page(false);
  for (const weight of [0.25, 0.5, 0.75]) store.setWeight(0, weight);
  assert.equal(asked.length, 0);
  stage.beforeFrame();
  stage.beforeFrame();
  assert.deepEqual(asked.map((weights) => weights[0]), [0.75]);
});
