// dressform_follow.wgsl: moves the blocks of a garment that changed, on the graphics processor.
//
// SPDX-License-Identifier: Apache-2.0
//
// The buffers are the arrays of a `dressform_cloth` (dressform_follow.h), uploaded once as they lie in memory, and what
// `dressform_plan` says of each new set of weights: the active targets, and the changed blocks as a list. Dispatch one
// workgroup for each changed block. Nothing is written where nothing changed.

const BLOCK: u32 = 32u; // DRESSFORM_BLOCK: vertices of a block

struct Plan {
    weighted_count: u32, // active targets
    block_count: u32,    // blocks of the garment, changed or not
}

struct Weighted {
    morph: u32, // number of the target
    weight: f32,
}

@group(0) @binding(0) var<uniform> plan: Plan;
@group(0) @binding(1) var<storage, read> base: array<f32>;   // x, y, z of each vertex at weights 0
@group(0) @binding(2) var<storage, read> slots: array<u32>;  // morph * block_count + block: its piece; 0 for none
@group(0) @binding(3) var<storage, read> deltas: array<f32>; // pieces of 3 * BLOCK numbers
@group(0) @binding(4) var<storage, read> weighted: array<Weighted>;
@group(0) @binding(5) var<storage, read> changed: array<u32>; // numbers of the changed blocks
@group(0) @binding(6) var<storage, read_write> points: array<f32>;

@compute @workgroup_size(BLOCK)
fn follow(@builtin(workgroup_id) group: vec3<u32>, @builtin(local_invocation_id) local: vec3<u32>) {
    let block = changed[group.x];
    let inside = 3u * local.x;
    var sum = vec3<f32>(0.0);
    for (var i = 0u; i < plan.weighted_count; i++) {
        let piece = slots[weighted[i].morph * plan.block_count + block];
        if (piece != 0u) {
            let at = piece * 3u * BLOCK + inside;
            sum += weighted[i].weight * vec3<f32>(deltas[at], deltas[at + 1u], deltas[at + 2u]);
        }
    }
    // The sum first: it is small, and rounds less than what it is added to.
    let at = block * 3u * BLOCK + inside;
    points[at] = base[at] + sum.x;
    points[at + 1u] = base[at + 1u] + sum.y;
    points[at + 2u] = base[at + 2u] + sum.z;
}
