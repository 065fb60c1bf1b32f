// Prints pages to PDF, on A4 and on US letter, and reads them as whoever takes them to the bench would.
//
// A bench sheet: its sides are counted; every weight, the check value, the cautions and the labels of the boxes must stand on paper, and the
// links of the screen must not. A handout, the page of a notebook: every weight, every number in the text and every caution must be there, the
// fields and links of the screen must not, and no phase may be torn between two sides. Each proof of a label in it must have a side of its own,
// with all of its text and of its list, and be as large as it says.
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
/** What stands on the screen only, on whole lines. */
const OF_THE_SCREEN = /^\s*(Skip to the text|Search|At the bench|Before this: .*|After this: .*|Bench sheet to print and write on)\s*$/m;

/** Paper breaks lines wherever it likes; only what stands there is compared. */
const without = (text) => text.replace(/\s+/g, "").replaceAll("`", "");

/** A page on paper: how many sides, and their text in the order of the page, so that words that run on to another line stay together. */
async function printed(page, pdf, format) {
  await page.pdf({ path: pdf, format, preferCSSPageSize: false });
  const sides = Number(/Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [pdf], { encoding: "utf8" }))[1]);
  const text = execFileSync("pdftotext", ["-raw", pdf, "-"], { encoding: "utf8" });
  return { sides, text, flow: without(text) };
}

/** What every printed page owes its reader. */
function checkPaper(tally, path, format, { sides, text, flow }, findings, title) {
  for (const one of findings.filter((finding) => finding.severity === "caution")) {
    tally.check(path, `${format}: caution`, flow.includes(without(one.what)), one.what);
  }
  tally.check(path, `${format}: running foot`, new RegExp(`page ${sides} of ${sides}`).test(text));
  const found = OF_THE_SCREEN.exec(text)?.[1];
  tally.check(path, `${format}: nothing of the screen`, !found || found === title, found);
}

async function checkBenchSheet(tally, page, path, pdf, long) {
  const { formula, method, cautions } = dataOf(path);
  const boxes = await page.evaluate(() => [...document.querySelectorAll("tr.line")].map((row) => row.querySelectorAll("td.box").length));
  const lines = formula.phases.flatMap((phase) => phase.lines);
  tally.same(path, "boxes of a line", boxes, lines.map(() => 4));
  for (const format of ["A4", "Letter"]) {
    const paper = await printed(page, pdf, format);
    const { sides, flow } = paper;
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
    for (const step of method?.steps ?? []) tally.check(path, `${format}: step ${step.number}`, flow.includes(without(step.do)), step.do);
    checkPaper(tally, path, format, paper, cautions, formula.title);
  }
  // Writing by hand needs 7 mm: 26.4 px.
  await page.emulateMedia({ media: "print" });
  const low = await page.evaluate(() => [...document.querySelectorAll("tr.line")].filter((row) => row.getBoundingClientRect().height < 26.4).length);
  await page.emulateMedia({ media: null });
  tally.same(path, "rows too low to write in", low, 0);
}

async function checkHandout(tally, page, path, pdf) {
  const { title, formulas, numbers, findings } = dataOf(path);
  for (const format of ["A4", "Letter"]) {
    const paper = await printed(page, pdf, format);
    for (const { number } of numbers) tally.check(path, `${format}: number ${number.address}`, paper.flow.includes(without(number.text)), number.text);
    // Between two sides there is a form feed, which is no part of `flow`.
    const whole = paper.text.replace(/[^\S\f]+/g, "");
    let at = 0;
    for (const formula of formulas) {
      at = whole.indexOf(without(`batch ${formula.batch.text}`), at);
      tally.check(path, `${format}: sheet of ${formula.id}`, at >= 0);
      for (const phase of formula.phases) {
        const begin = whole.indexOf(without([phase.key, phase.title, phase.hold, phase.note, phase.lines[0].name].join("")), at);
        let end = begin;
        for (const line of phase.lines) end = Math.max(end, whole.indexOf(without(line.percent.text + line.weight.text), end));
        tally.check(path, `${format}: phase ${phase.key} of ${formula.id}`, begin >= 0 && end > begin);
        tally.check(path, `${format}: phase ${phase.key} of ${formula.id} on one side`, !whole.slice(begin, end).includes("\f"));
        at = Math.max(at, end);
      }
      tally.check(path, `${format}: check value of ${formula.id}`, whole.indexOf(without(`check ${formula.check}`), at) > 0);
    }
    checkPaper(tally, path, format, paper, findings, title);
  }
}

/** The running foot, which the text of a side begins with: which side it is, then id, version and check value. */
const FOOT = /^page\d+of\d+(.*?check[0-9A-Z]{3}-[0-9A-Z]{4})?/;

/** Label proofs: what of them stands on which side, and how large they are on paper. */
async function checkLabels(tally, page, path, pdf) {
  const proofs = await page.evaluate(() =>
    [...document.querySelectorAll(".label-of")].map((section) => ({
      all: section.innerText,
      head: section.querySelector(".caption").innerText,
      words: [...section.querySelectorAll(".proof :is(p, li)")].map((one) => one.textContent.trim()),
      checks: [...section.querySelectorAll("tbody tr")].map((row) => row.innerText),
    })),
  );
  for (const format of ["A4", "Letter"]) {
    const { sides, text } = await printed(page, pdf, format);
    const onSides = text.split("\f").slice(0, sides).map(without);
    tally.same(path, `${format}: sides that hold a proof`, onSides.filter((side) => side.includes("Labelproof,")).length, proofs.length);
    for (const { head, words, checks, all } of proofs) {
      const found = onSides.filter((side) => side.replace(FOOT, "").startsWith(without(head)) && words.every((one) => side.includes(without(one))));
      tally.check(path, `${format}: ${head}: on a side of its own, whole`, found.length >= 1, `${words}`);
      for (const check of checks) tally.check(path, `${format}: ${head}: list`, found.some((side) => side.includes(without(check))), check);
      tally.check(path, `${format}: ${head}: who checks it`, found.some((side) => /tobecheckedbytheresponsibleperson/.test(side)));
      // Paper has the words of a true-size frame behind the others, so only how many there are is compared.
      for (const side of found) tally.same(path, `${format}: ${head}: letters on its side`, side.replace(FOOT, "").length, without(all).length);
    }
  }
  await page.emulateMedia({ media: "print" });
  const sizes = await page.evaluate(() =>
    [...document.querySelectorAll(".proof.sized")].map((proof) => {
      const frame = getComputedStyle(proof, "::before");
      return { said: [proof.style.getPropertyValue("--width"), proof.style.getPropertyValue("--height")], is: [frame.width, frame.height] };
    }),
  );
  const letters = await page.evaluate(() =>
    [...document.querySelectorAll(".proof .content[style]")].map((content) => {
      // One ex is the height of a small letter; 96 px are an inch.
      const ruler = content.appendChild(document.createElement("i"));
      ruler.style.cssText = "display: inline-block; width: 1ex";
      const inches = ruler.getBoundingClientRect().width / 96;
      ruler.remove();
      return { said: parseFloat(content.style.getPropertyValue("--letters")), is: inches };
    }),
  );
  await page.emulateMedia({ media: null });
  for (const { said, is } of sizes) {
    said.forEach((mm, side) => tally.check(path, `frame of ${said}`, Math.abs(parseFloat(is[side]) * 25.4 - parseFloat(mm) * 96) < 2.54, is[side]));
  }
  for (const { said, is } of letters) tally.check(path, `letters of ${said} in`, is > said * 0.99 && is < said * 1.01, `${is}`);
}

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
  const pdf = join(into, "page.pdf");
  for (const path of pagesIn(folder)) {
    const data = dataOf(path);
    const isBenchSheet = basename(dirname(path)) === "bench" && data.formula;
    if (!isBenchSheet && !data.formulas.length) continue;
    await page.goto(addressOf(path));
    if (!isBenchSheet && (await page.$(".label-of"))) await checkLabels(tally, page, path, pdf);
    if (isBenchSheet) await checkBenchSheet(tally, page, path, pdf, long);
    else await checkHandout(tally, page, path, pdf);
  }
} finally {
  await browser.close();
  rmSync(into, { recursive: true, force: true });
}
for (const one of long) console.log(`more than one side: ${one}`);
tally.close();
