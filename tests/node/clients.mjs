// Opens GLB files with other programs: `node clients.mjs JOB.json`, { files: { name: path }, weights: { morph: weight } }.
// Prints, for each client and file, what it made of it: names of targets, positions of all vertices at the weights.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { Logger } from "@babylonjs/core/Misc/logger.js";
import { NullEngine } from "@babylonjs/core/Engines/nullEngine.js";
import { LoadAssetContainerAsync } from "@babylonjs/core/Loading/sceneLoader.js";
import { Vector3 } from "@babylonjs/core/Maths/math.vector.js";
import { MeshoptCompression } from "@babylonjs/core/Meshes/Compression/meshoptCompression.js";
import { Scene } from "@babylonjs/core/scene.js";
import "@babylonjs/core/Materials/PBR/pbrMaterial.js";
import "@babylonjs/loaders/glTF/2.0/index.js";
import { NodeIO } from "@gltf-transform/core";
import { EXTMeshoptCompression, KHRMeshQuantization } from "@gltf-transform/extensions";
import { dedup, meshopt, prune, quantize } from "@gltf-transform/functions";
import { MeshoptDecoder, MeshoptEncoder } from "meshoptimizer";

const job = JSON.parse(readFileSync(process.argv[2], "utf8"));
const versionOf = (name) => JSON.parse(readFileSync(new URL(`./node_modules/${name}/package.json`, import.meta.url))).version;
const coded = (bytes) => Buffer.from(bytes).toString("base64");

async function babylon(bytes) {
  Logger.LogLevels = Logger.NoneLogLevel;
  await MeshoptDecoder.ready;
  // The decoder is here already: nothing is fetched, and no worker started.
  MeshoptCompression._Default = { decodeGltfBufferAsync: async (source, count, stride, mode, filter) => {
    const target = new Uint8Array(count * stride);
    MeshoptDecoder.decodeGltfBuffer(target, count, stride, source, mode, filter);
    return target;
  } };
  const scene = new Scene(new NullEngine());
  scene.useRightHandedSystem = true;
  const container = await LoadAssetContainerAsync(bytes, scene, { pluginExtension: ".glb" });
  const names = new Set();
  const positions = [];
  let normals = true;
  for (const mesh of container.meshes) {
    if (!mesh.getTotalVertices()) continue;
    const manager = mesh.morphTargetManager;
    for (let index = 0; index < (manager?.numTargets ?? 0); index++) {
      const target = manager.getTarget(index);
      names.add(target.name);
      target.influence = job.weights[target.name] ?? 0;
    }
    normals &&= manager?.supportsNormals ?? false;
    const matrix = mesh.computeWorldMatrix(true);
    const local = mesh.getPositionData(false, true);
    for (let at = 0; at < local.length; at += 3) {
      const point = Vector3.TransformCoordinates(new Vector3(local[at], local[at + 1], local[at + 2]), matrix);
      positions.push(point.x, point.y, point.z);
    }
  }
  return { names: [...names], positions, normals };
}

async function assimp(bytes) {
  const library = await createRequire(import.meta.url)("assimpjs")();
  const files = new library.FileList();
  files.AddFile("garment.glb", bytes);
  const result = library.ConvertFileList(files, "assjson");
  if (!result.IsSuccess()) return { failed: result.GetErrorCode() };
  const scene = JSON.parse(new TextDecoder().decode(result.GetFile(0).GetContent()));
  return { names: [], count: scene.meshes.reduce((sum, mesh) => sum + mesh.vertices.length / 3, 0) };
}

// gltf-transform rewrites a file; what it wrote is read back by our reader.
function transformed(...steps) {
  return async (bytes) => {
    await Promise.all([MeshoptDecoder.ready, MeshoptEncoder.ready]);
    const io = new NodeIO()
      .registerExtensions([EXTMeshoptCompression, KHRMeshQuantization])
      .registerDependencies({ "meshopt.decoder": MeshoptDecoder, "meshopt.encoder": MeshoptEncoder });
    const document = await io.readBinary(bytes);
    document.setLogger({ debug() {}, info() {}, warn() {}, error() {} });
    await document.transform(...steps);
    return { file: coded(await io.writeBinary(document)) };
  };
}

const clients = {
  [`Babylon.js ${versionOf("@babylonjs/core")}`]: babylon,
  [`assimp (assimpjs ${versionOf("assimpjs")})`]: assimp,
  [`glTF Transform ${versionOf("@gltf-transform/core")}, dedup and prune`]: transformed(dedup(), prune({ keepAttributes: true })),
  [`glTF Transform ${versionOf("@gltf-transform/core")}, quantize`]: transformed(quantize()),
  [`glTF Transform ${versionOf("@gltf-transform/core")}, meshopt`]: transformed(meshopt({ encoder: MeshoptEncoder })),
};

const found = [];
for (const [client, open] of Object.entries(clients)) {
  for (const [name, path] of Object.entries(job.files)) {
    const bytes = new Uint8Array(readFileSync(path));
    try {
      found.push({ client, name, ...(await open(bytes)) });
    } catch (problem) {
      found.push({ client, name, failed: String(problem.message ?? problem).split("\n")[0] });
    }
  }
}
console.log(JSON.stringify(found));
