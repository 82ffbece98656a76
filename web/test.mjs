// Bundles every test and hands it to Node's own runner.
import { build } from "esbuild";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "page-tests-"));
const tests = readdirSync(join(here, "test")).filter((name) => name.endsWith(".test.ts"));

await build({
  absWorkingDir: here,
  entryPoints: tests.map((name) => join("test", name)),
  outdir: folder,
  outExtension: { ".js": ".mjs" },
  bundle: true,
  platform: "node",
  format: "esm",
  sourcemap: "inline",
  logLevel: "warning",
});
const files = readdirSync(folder).map((name) => join(folder, name));
const run = spawnSync(process.execPath, ["--test", "--enable-source-maps", ...files], { stdio: "inherit" });
rmSync(folder, { recursive: true });
process.exit(run.status ?? 1);
