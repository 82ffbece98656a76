// Bundles the module named on the command line into one script for a page, printed to standard output.
import { buildSync } from "esbuild";

const result = buildSync({ entryPoints: [process.argv[2]], bundle: true, format: "iife", write: false });
process.stdout.write(result.outputFiles[0].text);
