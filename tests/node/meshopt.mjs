// The reference implementation of the compression: reads jobs from a file, writes what it encoded or decoded.
// A job: { what: "encode" | "decode", mode, count, size, filter?, bits?, data: base64 }.
import { readFileSync } from "node:fs";
import { MeshoptDecoder, MeshoptEncoder } from "meshoptimizer";

await MeshoptDecoder.ready;
await MeshoptEncoder.ready;

function run({ what, mode, count, size, filter, bits, data }) {
  const bytes = Uint8Array.from(Buffer.from(data, "base64"));
  if (what === "decode") {
    const target = new Uint8Array(count * size);
    MeshoptDecoder.decodeGltfBuffer(target, count, size, bytes, mode, filter);
    return target;
  }
  const floats = new Float32Array(bytes.buffer);
  if (filter === "OCTAHEDRAL") return run({ what, mode, count, size, data: coded(MeshoptEncoder.encodeFilterOct(floats, count, size, bits)) });
  if (filter === "QUATERNION") return run({ what, mode, count, size, data: coded(MeshoptEncoder.encodeFilterQuat(floats, count, size, bits)) });
  if (filter === "EXPONENTIAL") return run({ what, mode, count, size, data: coded(MeshoptEncoder.encodeFilterExp(floats, count, size, bits)) });
  return MeshoptEncoder.encodeGltfBuffer(bytes, count, size, mode, 0);
}

function coded(bytes) {
  return Buffer.from(bytes).toString("base64");
}

console.log(JSON.stringify(JSON.parse(readFileSync(process.argv[2], "utf8")).map((job) => coded(run(job)))));
