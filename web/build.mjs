// Bundles the page: page.js and page.css, minified, the same bytes every time.
// The folder to write into may be named: node build.mjs [folder]
import { build } from "esbuild";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const folder = process.argv[2] ?? join(here, "../src/dressform/report/page");

await build({
  absWorkingDir: here,
  entryPoints: { page: "src/main.ts" },
  outdir: folder,
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2022",
  charset: "ascii", // the bundle is inlined into documents: no byte of it depends on their encoding
  legalComments: "inline",
  logLevel: "warning",
});
await build({
  absWorkingDir: here,
  entryPoints: { page: "src/style/page.css" },
  outdir: folder,
  bundle: true,
  minify: true,
  charset: "ascii",
  target: "chrome115",
  logLevel: "warning",
});
