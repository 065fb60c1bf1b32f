// What the browser tests share: finding pages, the browser, and a tally that remembers what failed.

import { createRequire } from "node:module";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));

/** Packages lie in `target/npm`, or in the folder that TAREBOOK_NPM names. */
const packages = createRequire(join(resolve(process.env.TAREBOOK_NPM ?? join(here, "../../target/npm")), "index.js"));

/** A file of an installed package. */
export const packaged = (name) => packages.resolve(name);

/** All published pages under a folder, sorted. */
export function pagesIn(folder) {
  const found = [];
  const walk = (at) => {
    for (const entry of readdirSync(at, { withFileTypes: true })) {
      if (entry.name.startsWith(".")) continue;
      const path = join(at, entry.name);
      if (entry.isDirectory()) walk(path);
      else if (entry.name.endsWith(".html")) found.push(path);
    }
  };
  walk(resolve(folder));
  return found.sort();
}

/** Whether a page is a list of other pages: the index, and those by which a collection is looked up. */
export const isList = (page) => page.endsWith("index.html") || dirname(page).endsWith("/index");

/** The data file beside a page. A list has none, and nothing computed either; nor has a raw material's. */
export function dataOf(page) {
  const path = page.replace(/\.html$/, ".json");
  const nothing = { title: "", formulas: [], numbers: [], findings: [] };
  if (isList(page) && !existsSync(path)) return nothing;
  return { ...nothing, ...JSON.parse(readFileSync(path, "utf8")) };
}

/** The address of a file. */
export const addressOf = (path) => pathToFileURL(path).href;

/** Headless Chromium, which asks nobody for anything. */
export async function launch() {
  const { chromium } = packages("playwright-core");
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ],
  });
}

/** Counts checks and keeps the failed ones. */
export class Tally {
  passed = 0;
  failures = [];

  constructor(folder) {
    this.folder = resolve(folder);
  }

  /** One check on a page. */
  check(page, what, holds, detail = "") {
    if (holds) this.passed += 1;
    else this.failures.push(`${page.slice(this.folder.length + 1)}: ${what}${detail && `: ${detail}`}`);
  }

  /** Two values that must be the same; the first difference is told. */
  same(page, what, seen, expected) {
    const [left, right] = [JSON.stringify(seen), JSON.stringify(expected)];
    if (left === right || !Array.isArray(seen) || !Array.isArray(expected)) {
      this.check(page, what, left === right, `seen ${left}, expected ${right}`);
      return;
    }
    const length = Math.max(seen.length, expected.length);
    for (let index = 0; index < length; index += 1) {
      const [one, other] = [JSON.stringify(seen[index]), JSON.stringify(expected[index])];
      this.check(page, `${what} ${index + 1}`, one === other, `seen ${one}, expected ${other}`);
    }
  }

  /** The closing line, and the exit status. */
  close() {
    for (const failure of this.failures) console.log(failure);
    console.log(`${this.passed} passed, ${this.failures.length} failed`);
    process.exitCode = this.failures.length === 0 && this.passed > 0 ? 0 : 1;
  }
}
