// Prints every bench sheet to PDF, on A4 and on US letter, counts its sides and reads them: every weight, the check value, the cautions
// and the labels of the boxes must stand on paper, and the links of the screen must not.
//
//   node tests/browser/print.mjs FOLDER
//
// Needs the npm package playwright-core in target/npm, Chromium, and pdfinfo and pdftotext of poppler-utils.

import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, dirname, join } from "node:path";
import { Tally, addressOf, dataOf, launch, pagesIn } from "./tools.mjs";

/** So much fits on one side: beyond it a sheet may take a second one, which repeats the head of its table. */
const FITS = { lines: 15, steps: 8, cautions: 900 };
const BOXES = ["weighed", "lot", "time", "initials", "pH measured", "empty vessel", "net", "yield", "made by", "checked by", "remarks"];

const plain = (text) => text.replace(/\s+/g, " ").trim();

/** Paper breaks lines wherever it likes; only what stands there is compared. */
const without = (text) => text.replace(/\s+/g, "");

const folder = process.argv[2];
if (!folder) {
  console.error("Say which folder of published pages: node tests/browser/print.mjs FOLDER");
  process.exit(2);
}
const tally = new Tally(folder);
const into = mkdtempSync(join(tmpdir(), "printed-"));
const browser = await launch();
const long = [];
try {
  const page = await browser.newPage();
  for (const path of pagesIn(folder).filter((one) => basename(dirname(one)) === "bench" && dataOf(one).formula)) {
    const { formula, method, cautions } = dataOf(path);
    await page.goto(addressOf(path));
    const boxes = await page.evaluate(() => [...document.querySelectorAll("tr.line")].map((row) => row.querySelectorAll("td.box").length));
    const lines = formula.phases.flatMap((phase) => phase.lines);
    tally.same(path, "boxes of a line", boxes, lines.map(() => 4));
    for (const format of ["A4", "Letter"]) {
      const pdf = join(into, "sheet.pdf");
      await page.pdf({ path: pdf, format, preferCSSPageSize: false });
      const sides = Number(/Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [pdf], { encoding: "utf8" }))[1]);
      const text = execFileSync("pdftotext", ["-layout", pdf, "-"], { encoding: "utf8" });
      // In the order of the page, so that words that run on to another line stay together.
      const flow = without(execFileSync("pdftotext", ["-raw", pdf, "-"], { encoding: "utf8" }));
      const words = plain(text);
      const said = cautions.reduce((sum, one) => sum + one.what.length + one.why.length + one.mend.length, 0);
      const steps = method?.steps.length ?? 0;
      const fits = lines.length <= FITS.lines && steps <= FITS.steps && said <= FITS.cautions;
      if (sides > 1) long.push(`${basename(path)}, ${format}: ${sides} sides (${lines.length} lines, ${steps} steps, ${said} letters of caution)`);
      tally.check(path, `sides of ${format}`, sides === 1 || (!fits && sides === 2), `${sides}`);
      for (const line of lines) tally.check(path, `${format}: weight of ${line.name}`, flow.includes(without(line.weight.text)), line.weight.text);
      for (const phase of formula.phases) tally.check(path, `${format}: phase ${phase.key}`, flow.includes(without(phase.weight.text)));
      for (const lot of lines.map((line) => line.lot).filter(Boolean)) tally.check(path, `${format}: lot ${lot}`, flow.includes(without(lot)));
      tally.check(path, `${format}: check value`, flow.includes(without(`check ${formula.check}`)));
      for (const label of BOXES) tally.check(path, `${format}: box ${label}`, flow.includes(without(label)));
      for (const one of cautions) {
        tally.check(path, `${format}: caution`, flow.includes(without(one.what.replaceAll("`", ""))), one.what);
      }
      for (const step of method?.steps ?? []) tally.check(path, `${format}: step ${step.number}`, flow.includes(without(step.do)), step.do);
      tally.check(path, `${format}: running foot`, new RegExp(`page ${sides} of ${sides}`).test(words));
      tally.check(path, `${format}: no link of the screen`, !words.includes("Skip to the text"));
    }
    // Writing by hand needs 7 mm: 26.4 px.
    await page.emulateMedia({ media: "print" });
    const low = await page.evaluate(() => [...document.querySelectorAll("tr.line")].filter((row) => row.getBoundingClientRect().height < 26.4).length);
    await page.emulateMedia({ media: null });
    tally.same(path, "rows too low to write in", low, 0);
  }
} finally {
  await browser.close();
  rmSync(into, { recursive: true, force: true });
}
for (const one of long) console.log(`more than one side: ${one}`);
tally.close();
