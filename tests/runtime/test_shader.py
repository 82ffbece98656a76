"""`runtime/dressform_follow.wgsl` follows as the library does, on the software adapter of a real Chromium."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browser import FLAGS, chromium
from ctools import RUNTIME, Cloth, Header
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.follow import Follower
from dressform.formats.gltf.save import save_body
from phantoms import capsule

pytestmark = [pytest.mark.browser, pytest.mark.compiler]

SHADER = RUNTIME / "dressform_follow.wgsl"
SOFTWARE = ("--enable-unsafe-webgpu", "--use-webgpu-adapter=swiftshader")
SAME_PLACE = 1e-5  # metres
MORPHS = 12
# Uploads the arrays of a cloth, then plays plans one after the other into the same buffer of points.
PLAY = """
async ([code, arrays, plans]) => {
  const adapter = await navigator.gpu?.requestAdapter();
  if (!adapter) return null;
  const device = await adapter.requestDevice();
  const { STORAGE, UNIFORM, COPY_SRC, COPY_DST, MAP_READ } = GPUBufferUsage;
  const buffer = (data, usage) => {
    const made = device.createBuffer({ size: Math.max(16, data.byteLength), usage: usage | COPY_DST });
    device.queue.writeBuffer(made, 0, data);
    return made;
  };
  const module = device.createShaderModule({ code });
  const messages = (await module.getCompilationInfo()).messages.map((one) => one.message);
  if (messages.length) throw new Error(messages.join("; "));
  const layout = "auto";
  const pipeline = await device.createComputePipelineAsync({ layout, compute: { module, entryPoint: "follow" } });
  const base = buffer(new Float32Array(arrays.base), STORAGE);
  const slots = buffer(new Uint32Array(arrays.slots), STORAGE);
  const deltas = buffer(new Float32Array(arrays.deltas), STORAGE);
  const points = buffer(new Float32Array(arrays.points), STORAGE | COPY_SRC);
  const size = 4 * arrays.points.length;
  const shown = [];
  for (const plan of plans) {
    const weighted = new ArrayBuffer(8 * plan.active.length);
    plan.active.forEach((morph, i) => {
      new Uint32Array(weighted)[2 * i] = morph;
      new Float32Array(weighted)[2 * i + 1] = plan.weights[i];
    });
    const bound = [
      buffer(new Uint32Array([plan.active.length, arrays.blocks]), UNIFORM), base, slots, deltas,
      buffer(weighted, STORAGE), buffer(new Uint32Array(plan.changed), STORAGE), points,
    ];
    const entries = bound.map((made, binding) => ({ binding, resource: { buffer: made } }));
    const read = device.createBuffer({ size, usage: MAP_READ | COPY_DST });
    const commands = device.createCommandEncoder();
    const pass = commands.beginComputePass();
    pass.setPipeline(pipeline);
    pass.setBindGroup(0, device.createBindGroup({ layout: pipeline.getBindGroupLayout(0), entries }));
    pass.dispatchWorkgroups(plan.changed.length);
    pass.end();
    commands.copyBufferToBuffer(points, 0, read, 0, size);
    device.queue.submit([commands.finish()]);
    await read.mapAsync(GPUMapMode.READ);
    shown.push(Array.from(new Float32Array(read.getMappedRange())));
  }
  return shown;
}
"""


@pytest.fixture(scope="module")
def secure_page() -> Iterator[Any]:
    """An empty page that may compute on the software adapter; nothing but itself is in reach."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    flags = [flag for flag in FLAGS if flag != "--disable-gpu"]
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=[*flags, *SOFTWARE])
        try:
            page = browser.new_page()
            page.route("**/*", lambda route: route.fulfill(body="<!doctype html>", content_type="text/html"))
            page.goto("http://localhost:1/")
            yield page
        finally:
            browser.close()


def plan(cloth: Cloth, weights: np.ndarray) -> dict[str, list[float]]:
    """What the header says that has to be done for these weights."""
    cloth.follow(weights, call="dressform_plan")
    count = cloth.fields.active_count
    return {
        "active": cloth.array("active", count).tolist(),
        "weights": cloth.array("active_weights", count).tolist(),
        "changed": np.flatnonzero(cloth.array("changed", cloth.fields.block_count)).tolist(),
    }


def test_the_shader_follows_as_the_library_does_and_writes_only_what_changed(secure_page: Any, tmp_path: Path) -> None:
    vertices, faces = capsule()
    rng = np.random.default_rng(3)
    deltas = 0.05 * rng.normal(size=(MORPHS, *vertices.shape))
    deltas[1][200:] = 0.0  # one moves a part, and one nothing
    deltas[2] = 0.0
    names = tuple(f"morph {number}" for number in range(MORPHS))
    body = Body("capsule", vertices, faces, names, deltas, Range.unit(names))
    save_body(body, tmp_path / "body.glb")
    header = Header(tmp_path)
    cloth = header.open((tmp_path / "body.glb").read_bytes()).cloth()
    block = header.block()
    assert f"const BLOCK: u32 = {block}u;" in SHADER.read_text(encoding="utf-8")
    blocks = cloth.fields.block_count
    arrays = {
        "blocks": blocks,
        "slots": cloth.array("slots", MORPHS * blocks).tolist(),
        **{
            name: cloth.array(name, count * 3 * block).tolist()
            for name, count in (("base", blocks), ("points", blocks), ("deltas", cloth.fields.piece_count))
        },
    }
    shapes = rng.uniform(-1, 2, (4, MORPHS))
    shapes[1] = shapes[0] * (np.arange(MORPHS) != 1)  # the part alone goes back
    shapes[3] = 0.0
    plans = [plan(cloth, weights) for weights in shapes]
    assert len(plans[1]["changed"]) == -(-200 // block)
    shown = secure_page.evaluate(PLAY, [SHADER.read_text(encoding="utf-8"), arrays, plans])
    assert shown is not None, "this Chromium has no software adapter for WebGPU"
    ours = Follower.of_body(body)
    for weights, points in zip(shapes, shown):
        there = np.array(points).reshape(-1, 3)[: len(vertices)]
        assert np.abs(there - ours.at(weights)).max() < SAME_PLACE
