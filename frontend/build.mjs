// Bundles every page of src/pages, the workers of src/workers and the style sheet into the Python package.
import { cpSync, existsSync, readdirSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, "../src/woold/web/static");

function scripts(folder) {
  const path = join(here, "src", folder);
  if (!existsSync(path)) return [];
  return readdirSync(path).filter((name) => name.endsWith(".ts")).map((name) => join(path, name));
}

const common = { bundle: true, minify: true, target: "es2022", outdir: out, logLevel: "warning", legalComments: "linked" };
rmSync(out, { recursive: true, force: true });
await build({ ...common, entryPoints: scripts("pages"), format: "esm", splitting: true, chunkNames: "chunks/[name]-[hash]" });
await build({ ...common, entryPoints: [join(here, "src/styles/app.css")] });
if (scripts("workers").length) await build({ ...common, entryPoints: scripts("workers"), format: "iife" });
cpSync(join(here, "src/assets"), out, { recursive: true });
