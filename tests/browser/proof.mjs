// Proves that the browser test can fail: spoils a copy of the published pages, one slip at a time, and expects each slip to
// be found on its page.
//
//   node tests/browser/proof.mjs FOLDER
//
// FOLDER must hold a page with a formula, a finding and a number in its prose; the demo collection has several.

import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, relative, resolve } from "node:path";
import { checkFolder } from "./markup.mjs";
import { testFolder } from "./pages.mjs";
import { Tally, dataOf, pagesIn } from "./tools.mjs";

const NUMBER = /(<td class="w"><details[^>]*><summary>)([\d.]+)/;

/** Each slip: its name, how it spoils the text of a page, and the words by which the test must tell it. */
const SLIPS = [
  ["a digit of a weight", (html) => html.replace(NUMBER, (_, before, number) => `${before}${Number(number) + 1}`), /: rows 2:/],
  ["a row left out", (html) => html.replace(/<tr data-line[^>]*>.*?<\/tr>/s, ""), /: rows 2:/],
  ["another check value", (html) => html.replace(/<div class="check">check /, "<div class=\"check\">check X"), /: head /],
  ["a number in the prose", (html) => html.replace(/(<a class="n" href="#w1"[^>]*>)/, (link) => `${link}7`), /number in the prose 1:/],
  ["a link to the wrong working", (html) => html.replace('href="#w1"', 'href="#main"'), /working of /],
  ["another working", (html) => html.replace(/(<p id="w1">)/, "$1about "), /working of /],
  ["a finding left out", (html) => html.replace(/<li class="caution">.*?<\/li>/s, ""), /finding/],
  ["a finding that is not seen", (html) => html.replace('<li class="caution">', '<li class="caution" style="visibility:hidden">'), /finding/],
  ["a weight under something else", (html) => html.replace("<body>", '<body><div style="position:fixed;inset:0"></div>'), /is covered/],
  ["a picture from elsewhere", (html) => html.replace("<main", '<img alt="" src="http://127.0.0.1:9/x.png"><main'), /quiet/],
  ["a script with an error", (html) => html.replace("<main", "<script>console.error('oh')</script><main"), /quiet/],
  ["too wide for a phone", (html) => html.replace("<main", '<div style="width:30rem">wide</div><main'), /layout, phone/],
  ["too faint to read", (html) => html.replace("<main", '<p style="color:#ccc;background:#fff">faint</p><main'), /accessible/],
  ["no skip link", (html) => html.replace(/<a class="skip".*?<\/a>/, ""), /skip link/],
  ["a disclosure out of reach", (html) => html.replace("<summary>", '<summary tabindex="-1">'), /disclosures reached/],
  ["too large", (html) => `${html}<!--${"x".repeat(150_000)}-->`, /small enough/],
];

const folder = process.argv[2];
if (!folder) {
  console.error("Say which folder of published pages: node tests/browser/proof.mjs FOLDER");
  process.exit(2);
}

// The smallest one will do.
const sizeOf = (path) => readFileSync(path).length;
const page = pagesIn(folder)
  .sort((one, other) => sizeOf(one) - sizeOf(other))
  .find((path) => {
    const data = dataOf(path);
    return data.numbers.length > 0 && data.formulas[0]?.findings.some((finding) => finding.severity === "caution");
  });
if (!page) throw new Error("There is no page with a formula, a finding and a number in its prose.");
const original = readFileSync(page, "utf8");
const tally = new Tally(folder);
const copy = mkdtempSync(join(tmpdir(), "spoiled-"));
try {
  cpSync(folder, copy, { recursive: true });
  // Each slip gets a page of its own in the same folder as the original, with the data file untouched beside it.
  const home = join(copy, dirname(relative(resolve(folder), page)));
  const spoiled = SLIPS.map(([, spoil], index) => {
    const path = join(home, `slip-${index}.html`);
    writeFileSync(path, spoil(original));
    cpSync(page.replace(/html$/, "json"), path.replace(/html$/, "json"));
    return path;
  });
  const { failures } = await testFolder(copy, spoiled);
  for (const [index, [name, , told]] of SLIPS.entries()) {
    const own = failures.filter((failure) => failure.includes(`slip-${index}.html: `));
    tally.check(page, `found: ${name}`, own.some((failure) => told.test(failure)), own.slice(0, 3).join("; ") || "nothing");
  }
  tally.check(page, "no slip, nothing found", (await testFolder(folder, [page])).failures.length === 0);

  writeFileSync(spoiled[0], original.replace("</h1>", "</h2>"));
  const markup = checkFolder(copy).failures.filter((failure) => failure.includes("slip-0.html: "));
  tally.check(page, "found: markup that is not valid", markup.length === 1);
} finally {
  rmSync(copy, { recursive: true, force: true });
}
tally.close();
