// Holds the layers of the page: a file imports its own layer or one below, never one above.
// The folder to look at may be named: node layers.mjs [folder]
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, normalize, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";

/** From the bottom up; a name with more folders in it wins over one with fewer. */
const LAYERS = [
  "dom.ts", // elements
  "data", // what the program or the report says
  "draw", // values to colours and words
  "naming.ts", // names that people read
  "fault_words.ts",
  "state.ts", // what is looked at
  "stage", // the three-dimensional picture
  "context.ts", // what every part is given
  "parts/charts",
  "parts", // what a person sees and touches
  "parts/tabs",
  "app", // everything made and joined
  "main.ts",
];

const IMPORT = /(?:\bfrom|\bimport)\s*\(?\s*["'](\.[^"']+)["']/g;

function layerOf(file) {
  const fits = LAYERS.filter((layer) => file === layer || file.startsWith(`${layer}/`));
  const deepest = fits.sort((a, b) => b.split("/").length - a.split("/").length)[0];
  return LAYERS.indexOf(deepest);
}

function faultsOf(folder) {
  const files = readdirSync(folder, { recursive: true })
    .map((name) => name.split(sep).join("/"))
    .filter((name) => name.endsWith(".ts"));
  return files.flatMap((file) => {
    const layer = layerOf(file);
    if (layer < 0) return [`${file} stands in no layer. Name it in layers.mjs.`];
    const imported = [...readFileSync(join(folder, file), "utf8").matchAll(IMPORT)].map(([, path]) =>
      relative(folder, normalize(join(folder, dirname(file), path))).split(sep).join("/"),
    );
    return imported
      .filter((path) => layerOf(path) > layer)
      .map((path) => `${file} imports ${path}, which stands above it.`);
  });
}

const folder = process.argv[2] ?? join(dirname(fileURLToPath(import.meta.url)), "src");
const faults = faultsOf(folder);
console.log(faults.length ? faults.join("\n") : "Every import of the page points down or sideways.");
process.exit(faults.length ? 1 : 0);
