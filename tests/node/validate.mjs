// Validates the GLB and glTF files named on the command line; prints one JSON report per line.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const validator = createRequire(import.meta.url)("gltf-validator");

for (const path of process.argv.slice(2)) {
  const report = await validator.validateBytes(new Uint8Array(readFileSync(path)), { uri: path, maxIssues: 50 });
  console.log(JSON.stringify({ path, issues: report.issues }));
}
