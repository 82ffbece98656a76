// Plays a GLB the way any engine does: loads it, sets weights and joint turns, reads back where every vertex stands.
import { AnimationMixer, Quaternion, Vector3 } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { MeshoptDecoder } from "three/addons/libs/meshopt_decoder.module.js";

const loader = new GLTFLoader().setMeshoptDecoder(MeshoptDecoder);

function bytesOf(base64) {
  return Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0)).buffer;
}

// Weights of the targets of a basis, by the table that a garment brings in its extras (docs/files.md).
function basisWeights(mesh, weights) {
  const made = {};
  const { targets = [], morphs = {} } = mesh.userData.basis ?? mesh.parent?.userData.basis ?? {};
  for (const [morph, shares] of Object.entries(morphs)) {
    shares.forEach((share, index) => {
      made[targets[index]] = (made[targets[index]] ?? 0) + share * (weights[morph] ?? 0);
    });
  }
  return made;
}

function positionsOf(meshes, morphs) {
  const point = new Vector3();
  const found = [];
  for (const mesh of meshes) {
    const weights = { ...morphs, ...basisWeights(mesh, morphs) };
    for (const [name, slot] of Object.entries(mesh.morphTargetDictionary ?? {})) {
      mesh.morphTargetInfluences[slot] = weights[name] ?? 0;
    }
    for (let index = 0; index < mesh.geometry.attributes.position.count; index++) {
      mesh.getVertexPosition(index, point);
      point.applyMatrix4(mesh.matrixWorld);
      found.push(point.x, point.y, point.z);
    }
  }
  return found;
}

// Weights that the joints set, by the table that a fitted garment brings in its extras (docs/correctives.md).
function drivenWeights(mesh, bones) {
  const weights = {};
  for (const { target, joint, axis, bind, knots } of mesh.userData.correctives?.targets ?? []) {
    const { bone } = bones.find(({ bone }) => (bone.userData.name ?? bone.name) === joint);
    const turned = new Quaternion(...bind).invert().multiply(bone.quaternion);
    const sign = turned.w < 0 ? -1 : 1;
    const along = axis[0] * turned.x + axis[1] * turned.y + axis[2] * turned.z;
    const angle = 2 * Math.atan2(sign * along, sign * turned.w);
    const after = knots.findIndex(([at]) => at > angle);
    if (after <= 0) weights[target] = knots[after < 0 ? knots.length - 1 : 0][1];
    else {
      const [[from, low], [to, high]] = [knots[after - 1], knots[after]];
      weights[target] = low + ((angle - from) / (to - from)) * (high - low);
    }
  }
  return weights;
}

function settle(scene, meshes) {
  scene.updateMatrixWorld(true);
  for (const mesh of meshes) if (mesh.isSkinnedMesh) mesh.skeleton.update();
}

// Positions of all vertices of one scene as it stands, and at each set of weights (by morph name) once the joints in
// `turns` (quaternions by joint name) have been turned on from rest.
globalThis.play = async function play(base64, sceneIndex, weightSets, turns) {
  const scene = (await loader.parseAsync(bytesOf(base64), "")).scenes[sceneIndex];
  const meshes = [];
  scene.traverse((object) => object.isMesh && meshes.push(object));
  settle(scene, meshes);
  const base = positionsOf(meshes, {});
  scene.traverse((object) => {
    const turn = object.isBone && turns[object.userData.name ?? object.name];
    if (turn) object.quaternion.multiply(new Quaternion(...turn));
  });
  settle(scene, meshes);
  return { base, sets: weightSets.map((weights) => positionsOf(meshes, weights)) };
};

// Positions of all vertices of a scene as it stands, and at each stance: weights by morph, and by joint name what is done
// to its node as it is: `turn` (a quaternion, about its own axes), `scale` (factors), `offset`.
globalThis.playStances = async function playStances(base64, sceneIndex, stances) {
  const scene = (await loader.parseAsync(bytesOf(base64), "")).scenes[sceneIndex];
  const meshes = [];
  const bones = [];
  scene.traverse((object) => object.isMesh && meshes.push(object));
  scene.traverse((object) => object.isBone && bones.push({ bone: object, rest: object.clone(false) }));
  settle(scene, meshes);
  const base = positionsOf(meshes, {});
  const sets = stances.map(({ weights, joints }) => {
    for (const { bone, rest } of bones) {
      const change = joints[bone.userData.name ?? bone.name] ?? {};
      bone.position.copy(rest.position).add(new Vector3(...(change.offset ?? [0, 0, 0])));
      bone.quaternion.copy(rest.quaternion).multiply(new Quaternion(...(change.turn ?? [0, 0, 0, 1])));
      bone.scale.copy(rest.scale).multiply(new Vector3(...(change.scale ?? [1, 1, 1])));
    }
    settle(scene, meshes);
    return meshes.flatMap((mesh) => positionsOf([mesh], { ...weights, ...drivenWeights(mesh, bones) }));
  });
  return { base, sets };
};

// Positions of all vertices of a scene as it stands, and at each moment of an animation.
globalThis.playAnimation = async function playAnimation(base64, sceneIndex, animation, moments) {
  const loaded = await loader.parseAsync(bytesOf(base64), "");
  const scene = loaded.scenes[sceneIndex];
  const meshes = [];
  scene.traverse((object) => object.isMesh && meshes.push(object));
  settle(scene, meshes);
  const base = positionsOf(meshes, {});
  const mixer = new AnimationMixer(scene);
  const action = mixer.clipAction(loaded.animations[animation]);
  action.clampWhenFinished = true;
  action.repetitions = 1;
  action.play();
  const sets = moments.map((moment) => {
    mixer.setTime(moment);
    settle(scene, meshes);
    return positionsOf(meshes, {});
  });
  return { base, sets };
};

// What a marked copy shows: names of the vertex colours' attributes with their largest and smallest red, target names,
// texts of the node that shows it.
globalThis.playMarks = async function playMarks(base64) {
  const scene = (await loader.parseAsync(bytesOf(base64), "")).scenes[0];
  const found = { colours: {}, numbers: {}, targets: [], texts: {}, dyed: false };
  scene.traverse((object) => {
    Object.assign(found.texts, object.userData);
    if (!object.isMesh) return;
    found.dyed = object.material.vertexColors;
    found.targets = Object.keys(object.morphTargetDictionary ?? {});
    for (const [name, attribute] of Object.entries(object.geometry.attributes)) {
      const values = Array.from({ length: attribute.count }, (_, index) => attribute.getX(index));
      if (name.startsWith("color")) found.colours[name] = [Math.min(...values), Math.max(...values)];
      if (name.startsWith("_fault")) found.numbers[name] = Math.max(...values);
    }
  });
  return found;
};
