// Checks every published page and the style sheet with the Nu HTML checker: no error and no warning.
//
//   node tests/browser/markup.mjs FOLDER
//
// Needs the npm package vnu-jar in target/npm, and Java.

import { spawnSync } from "node:child_process";
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { Tally, packaged, pagesIn } from "./tools.mjs";

/** Checks all pages of a folder in one run. */
export function checkFolder(folder) {
  const tally = new Tally(folder);
  const pages = [...pagesIn(folder), join(resolve(folder), "style.css")];
  const options = ["--also-check-css", "--exit-zero-always", "--format", "json"];
  const run = spawnSync("java", ["-jar", packaged("vnu-jar/build/dist/vnu.jar"), ...options, ...pages], {
    encoding: "utf8",
    maxBuffer: 64 * 1024 * 1024,
  });
  // The checker writes its messages to the error stream; what is no JSON means that it did not run.
  let messages;
  try {
    ({ messages } = JSON.parse(run.stderr));
  } catch {
    throw new Error(`The checker could not run: ${run.error?.message ?? run.stderr}`);
  }
  for (const page of pages) {
    const isAmiss = (one) => one.type !== "info" || one.subType === "warning";
    const own = messages.filter((one) => isAmiss(one) && fileURLToPath(one.url) === page);
    const words = own.map((one) => `line ${one.lastLine}: ${one.message}`);
    tally.check(page, "the markup is valid", own.length === 0, words.join("; "));
  }
  return tally;
}

if (import.meta.filename === process.argv[1]) {
  const [folder] = process.argv.slice(2);
  if (!folder) {
    console.error("Say which folder of published pages: node tests/browser/markup.mjs FOLDER");
    process.exit(2);
  }
  checkFolder(folder).close();
}
