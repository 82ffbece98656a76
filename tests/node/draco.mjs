// Compresses a GLB with KHR_draco_mesh_compression: draco.mjs IN OUT METHOD, edgebreaker or sequential.
import { NodeIO } from "@gltf-transform/core";
import { KHRDracoMeshCompression } from "@gltf-transform/extensions";
import draco3d from "draco3dgltf";

const [source, target, method] = process.argv.slice(2);
const io = new NodeIO().registerExtensions([KHRDracoMeshCompression]).registerDependencies({
  "draco3d.encoder": await draco3d.createEncoderModule(),
  "draco3d.decoder": await draco3d.createDecoderModule(),
});
const file = await io.read(source);
file.createExtension(KHRDracoMeshCompression).setRequired(true).setEncoderOptions({
  method: KHRDracoMeshCompression.EncoderMethod[method.toUpperCase()],
  quantizationBits: { POSITION: 16, NORMAL: 12, GENERIC: 16 },
});
await io.write(target, file);
