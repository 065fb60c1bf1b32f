// Opens every published page in headless Chromium, from the file, and checks that what is seen equals the data file beside
// it; that every number leads to its working; that it can be used by keyboard, on a phone and without script; that it asks
// nobody for anything; and that axe-core finds nothing that keeps somebody out.
//
//   node tests/browser/pages.mjs FOLDER
//
// Needs the npm packages playwright-core and axe-core in target/npm, and Chromium at /usr/bin/chromium or in CHROMIUM.

import { statSync } from "node:fs";
import { dirname } from "node:path";
import * as expected from "./expected.mjs";
import * as seen from "./seen.mjs";
import { Tally, addressOf, dataOf, isList, launch, packaged, pagesIn } from "./tools.mjs";

const WIDE = { width: 1280, height: 900 };
const PHONE = { width: 360, height: 740 };
const LARGEST = 150_000;

/** What stands on the page is what the data says. */
function compare(tally, path, data, read, allData) {
  const isIndex = dirname(path) === tally.folder && path.endsWith("index.html");
  tally.check(path, "there is a title", read.title !== "");
  if (!isList(path)) tally.same(path, "title", read.title, data.title);
  tally.same(path, "number of sheets", read.sheets.length, data.formulas.length);
  data.formulas.forEach((formula, index) => {
    const { workings, ...sheet } = expected.sheet(formula);
    const shown = read.sheets[index] ?? {};
    for (const [what, value] of Object.entries(sheet)) {
      tally.same(path, `${formula.id}: ${what}`, shown[what]?.map?.(tidy) ?? tidy(shown[what]), value);
    }
  });
  // With errors, which only watching shows, a number that could not be computed says so and is not in the data.
  const computed = read.numbers.filter((text) => !(read.errors.length > 0 && text.endsWith("[not computed]")));
  tally.same(path, "number in the prose", computed, expected.numbers(data).map((number) => number.text));
  // A finding that stands beside nothing says its line.
  const lines = new Set(data.findings.map((finding) => `${finding.place.line}`));
  const unplaced = read.findings.map((text) => text.replace(/\| line (\d+): /, (all, line) => (lines.has(line) ? "| " : all)));
  tally.same(path, "finding", unplaced.sort(), expected.findings(data));
  tally.same(path, "error", read.errors, expected.errors(data));
  if (isIndex) {
    const lines = allData.flatMap(({ data: other }) => expected.indexLines(other)).sort();
    tally.same(path, "formula in the index", read.index.sort(), lines);
    const notebooks = allData.filter(({ data: other }) => other.notebook && other.notebook !== "index.md");
    tally.same(path, "number of notebooks in the index", read.indexLinks.length, notebooks.length);
  }
}

const tidy = (value) => (value === undefined ? "" : value);

/** With a script the index says which checks are due by the browser's day. */
async function compareDue(tally, path, page) {
  const now = new Date();
  const day = new Date(now - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
  const word = (date) => (date < day ? "overdue" : date === day ? "due today" : "");
  const said = (times) => times.map((time) => [time.dateTime, time.parentElement.querySelector("b")?.textContent ?? ""]);
  const rows = await page.locator(".due time").evaluateAll(said);
  for (const [date, words] of rows) tally.same(path, `what is said of a check on ${date}`, words, word(date));
}

/** Follows each number in the prose to its working. */
async function followNumbers(tally, path, data, page) {
  const numbers = expected.numbers(data);
  const links = await page.locator("main .n:not(.sheet .n)").all();
  for (const [index, link] of links.entries()) {
    const number = numbers[index];
    if (!number?.working) continue;
    try {
      await link.click({ timeout: 2000 });
    } catch (error) {
      tally.check(path, `the number ${number.text} can be clicked`, false, error.message.split("\n")[0]);
      continue;
    }
    const target = await page.evaluate(seen.readTarget);
    tally.check(path, `the working of ${number.text} is shown`, target.isShown);
    tally.same(path, `working of ${number.text}`, target.text, expected.working(number));
  }
}

/** From the address bar with the keyboard alone: the skip link first, then every disclosure, opened and closed again. */
async function useKeyboard(tally, path, data, page) {
  await page.goto(addressOf(path));
  await page.keyboard.press("Tab");
  const first = await page.evaluate(seen.readFocus);
  tally.check(path, "the skip link comes first and is seen", first?.isSkip && first.isShown && first.outline !== "none");
  await page.keyboard.press("Enter");

  const workings = [];
  const reached = new Set();
  const count = await page.locator("summary").count();
  let isFirst = true;
  for (;;) {
    await page.keyboard.press("Tab");
    const focus = await page.evaluate(seen.readFocus);
    if (isFirst && count > 0) tally.check(path, "the skip link leads into the text", focus?.inMain);
    isFirst = false;
    if (!focus || focus.isSkip || reached.has(focus.summary)) break;
    if (focus.summary < 0) continue;
    reached.add(focus.summary);
    tally.check(path, `disclosure ${focus.summary + 1} is seen when focused`, focus.isShown && focus.outline !== "none");
    await page.keyboard.press("Enter");
    const isOfSheet = await page.evaluate(() => document.activeElement.closest(".sheet.formula") !== null);
    const opened = await page.evaluate(seen.readOpened);
    if (isOfSheet) workings.push(opened);
    else tally.check(path, `disclosure ${focus.summary + 1} opens`, opened !== "");
    await page.keyboard.press("Enter");
    tally.check(path, `disclosure ${focus.summary + 1} closes`, (await page.evaluate(seen.readOpened)) === "");
  }
  tally.same(path, "number of disclosures reached", reached.size, count);
  const all = data.formulas.flatMap((formula) => expected.sheet(formula).workings);
  tally.same(path, "working on a sheet", workings, all.map((number) => number.working));
}

/** axe-core, with every disclosure open so that nothing is passed over. */
async function audit(tally, path, page, looks) {
  await page.evaluate(seen.openAll);
  await page.addScriptTag({ path: packaged("axe-core/axe.min.js") });
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    const violations = await page.evaluate(async () => {
      const found = await globalThis.axe.run(document, { resultTypes: ["violations"] });
      return found.violations.map((one) => `${one.id} (${one.help}) at ${one.nodes.map((node) => node.target).join(", ")}`);
    });
    tally.check(path, `accessible, ${looks}, ${colorScheme}`, violations.length === 0, violations.join("; "));
  }
  await page.emulateMedia({ colorScheme: "light" });
}

/** Notes whatever a page asks for and whatever the console complains of. */
function listen(page) {
  const amiss = [];
  page.on("request", (request) => {
    if (!/^(file|data):/.test(request.url())) amiss.push(`asked for ${request.url()}`);
  });
  page.on("requestfailed", (request) => amiss.push(`did not get ${request.url()}`));
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) amiss.push(`the console says: ${message.text()}`);
  });
  page.on("pageerror", (error) => amiss.push(`an error in the page: ${error.message}`));
  return amiss;
}

async function testPage(tally, browser, path, allData) {
  const data = dataOf(path);
  const size = statSync(path).size;
  tally.check(path, "small enough", size < LARGEST, `${size} bytes`);
  for (const [looks, viewport] of [["wide", WIDE], ["phone", PHONE]]) {
    for (const javaScriptEnabled of [true, false]) {
      const context = await browser.newContext({ viewport, javaScriptEnabled, reducedMotion: "reduce" });
      const page = await context.newPage();
      const amiss = listen(page);
      await page.goto(addressOf(path));
      compare(tally, path, data, await page.evaluate(seen.readPage), allData);
      const layout = await page.evaluate(seen.readLayout);
      tally.check(path, `layout, ${looks}`, layout.length === 0, layout.join("; "));
      // Every way of seeing the page is compared; the links are followed where they are hardest to hit and need most.
      if (!javaScriptEnabled) await followNumbers(tally, path, data, page);
      if (javaScriptEnabled && looks === "wide") await useKeyboard(tally, path, data, page);
      if (javaScriptEnabled) await compareDue(tally, path, page);
      tally.check(path, `quiet, ${looks}`, amiss.length === 0, amiss.join("; "));
      if (javaScriptEnabled) {
        await audit(tally, path, page, looks);
        const opened = await page.evaluate(seen.readLayoutOpened);
        tally.check(path, `layout with all workings open, ${looks}`, opened.length === 0, opened.join("; "));
      }
      await context.close();
    }
  }
}

/** Tests all pages of a folder, or some of them, two at a time. */
export async function testFolder(folder, paths = pagesIn(folder)) {
  const tally = new Tally(folder);
  const allData = pagesIn(folder).map((path) => ({ path, data: dataOf(path) }));
  const browser = await launch();
  const waiting = [...paths];
  const worker = async () => {
    for (let path = waiting.shift(); path; path = waiting.shift()) await testPage(tally, browser, path, allData);
  };
  try {
    await Promise.all([worker(), worker()]);
  } finally {
    await browser.close();
  }
  tally.failures.sort();
  return tally;
}

if (import.meta.filename === process.argv[1]) {
  const [folder] = process.argv.slice(2);
  if (!folder) {
    console.error("Say which folder of published pages: node tests/browser/pages.mjs FOLDER");
    process.exit(2);
  }
  (await testFolder(folder)).close();
}
