// Bundles every page of src/pages, the workers of src/workers and the style sheet into the Python package.
import { cpSync, existsSync, mkdirSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";
import { textsIn } from "./words.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, "../src/woold/web/static");
// Source maps stay here: the package does not carry them, and a debugger can be pointed at them.
const maps = join(here, "maps");

function scripts(folder) {
  const path = join(here, "src", folder);
  if (!existsSync(path)) return [];
  return readdirSync(path)
    .filter((name) => name.endsWith(".ts"))
    .map((name) => join(path, name));
}

const common = {
  bundle: true,
  minify: true,
  target: "es2022",
  outdir: out,
  logLevel: "warning",
  legalComments: "linked",
  sourcemap: "external",
};
rmSync(out, { recursive: true, force: true });
rmSync(maps, { recursive: true, force: true });
await build({
  ...common,
  entryPoints: scripts("pages"),
  format: "esm",
  splitting: true,
  chunkNames: "chunks/[name]-[hash]",
});
await build({ ...common, entryPoints: [join(here, "src/styles/app.css")] });
await build({ ...common, entryPoints: scripts("workers"), format: "iife" });
cpSync(join(here, "src/assets"), out, { recursive: true });
writeFileSync(join(out, "words.json"), JSON.stringify(textsIn(join(here, "src"))));
mkdirSync(maps);
for (const name of readdirSync(out, { recursive: true })) {
  if (name.endsWith(".map")) renameSync(join(out, name), join(maps, basename(name)));
}
