// The search page in headless Chromium, opened from the file: what is found, how slips are forgiven, the keyboard, what is said to those
// who hear the page, and that nothing is asked of anybody. Also the folding of letters, against the decompositions of Unicode.
//
//   node tests/browser/search.mjs FOLDER
//
// FOLDER holds the published demo collection. Needs playwright-core and axe-core in target/npm, and Chromium.

import { readFileSync, statSync } from "node:fs";
import { join, resolve } from "node:path";
import { runInNewContext } from "node:vm";
import { Tally, addressOf, launch, packaged } from "./tools.mjs";

const folder = process.argv[2];
if (!folder) {
  console.error("Say which folder of published pages: node tests/browser/search.mjs FOLDER");
  process.exit(2);
}
const path = join(resolve(folder), "index/search.html");
const tally = new Tally(folder);
const check = (what, holds, detail) => tally.check(path, what, holds, detail);

/** What is typed, which page has to come first, and a heading or sentence that has to stand below it. */
const WANTED = [
  ["hand cream", "Hand cream", ""],
  ["HAND-CREAM", "Hand cream", ""],
  ["handcream", "Hand cream", ""],
  ["conditoner", "Rinse-out conditioner", ""],
  ["xantham gum", "Xanthan gum", ""],
  ["Sodium Phytate", "Sodium phytate solution, 45–50 %", "Sodium Phytate"],
  ["butyrospermum", "Shea butter", "Butyrospermum Parkii Butter"],
  ["quantum satis", "Words of the bench", "q.s."],
  ["qs", "Words of the bench", "q.s."],
  ["body wash", "Barley and oat body wash", ""],
  ["tubes", "Hand cream", "Into the tubes"],
  ["barley-wash-plain", "Barley and oat body wash", "without scent"],
  ["teaspoon", "Weighing", "teaspoon"],
  ["sodium-phytate", "Sodium phytate solution, 45–50 %", ""],
];

/** Pairs that are one word to the search. The left ones come apart by NFKD of the Unicode standard (UAX 15) into the right and marks. */
const FOLDED = [
  ["Crème", "creme"], ["NAÏVE", "naive"], ["Öl", "ol"], ["Straße", "strasse"], ["Ångström", "angstrom"], ["ﬁne", "fine"], ["H₂O", "h2o"],
  ["m²", "m2"], ["œuf", "oeuf"], ["smørrebrød", "smorrebrod"], ["łagodny", "lagodny"], ["Ἑλένη", "ελενη"], ["ΣΟΦΟΣ", "σοφοσ"], ["ёлка", "елка"],
  ["İstanbul", "istanbul"], ["don’t", "dont"], ["µ", "μ"], ["e\u0301te\u0301", "ete"], ["soft\u00adness", "softness"],
];

const script = readFileSync(join(resolve(folder), "index/search.js"), "utf8");
const { folded, wordsOf, slips } = runInNewContext(`${script}\n({ folded, wordsOf, slips })`, {});
for (const [written, expected] of FOLDED) check(`${written} is folded`, folded(written) === expected, folded(written));
// Every precomposed letter of the Latin blocks loses its marks and its capitals, by Unicode's own tables.
for (let code = 0xc0; code < 0x250; code += 1) {
  const letter = String.fromCodePoint(code);
  const base = letter.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  if (/^[a-z]+$/.test(base)) check(`${letter} is folded`, folded(letter) === base, folded(letter));
}
tally.same(path, "words of a text", [...wordsOf("q.s. to 100 %, rinse-off: e.g. 0.5 g/ml. It’s pH 5.")], ["qs", "to", "100", "rinse", "off", "eg", "0", "5", "g", "ml", "its", "ph", "5"]);
// Distances with neighbouring letters swapped counted once (optimal string alignment), worked out by hand.
for (const [one, other, distance] of [["glycerin", "glycerin", 0], ["glycerine", "glycerin", 1], ["glcyerin", "glycerin", 1], ["panthnol", "panthenol", 1], ["kitten", "sitting", 3], ["", "ab", 2]]) {
  check(`slips from ${one} to ${other}`, slips(one, other, 3, false) === distance, String(slips(one, other, 3, false)));
}
check("slips up to a beginning", slips("panthn", "panthenol", 2, true) === 1);

const browser = await launch();
try {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, reducedMotion: "reduce" });
  const page = await context.newPage();
  const amiss = [];
  page.on("request", (request) => /^(file|data):/.test(request.url()) || amiss.push(`asked for ${request.url()}`));
  page.on("requestfailed", (request) => amiss.push(`did not get ${request.url()}`));
  page.on("console", (message) => ["error", "warning"].includes(message.type()) && amiss.push(message.text()));
  page.on("pageerror", (error) => amiss.push(error.message));
  await page.goto(addressOf(path));
  const field = page.getByRole("searchbox", { name: "Words to look for" });
  await field.focus();
  const status = page.getByRole("status");
  const look = async (words) => {
    await field.fill(words);
    await page.waitForTimeout(200);
    return page.evaluate(() => [...document.querySelectorAll("#results > li")].map((item) => [item.querySelector("a").innerText, item.innerText]));
  };
  for (const [words, title, below] of WANTED) {
    const [first = ["", ""]] = await look(words);
    check(`"${words}" finds ${title}`, first[0] === title && first[1].includes(below), JSON.stringify(first));
  }

  check("a mended word is told", (await look("conditoner")).length > 0 && (await status.innerText()).includes("Taken for: conditioner"));
  check("nothing found is told", (await look("qwxzy")).length === 0 && (await status.innerText()).startsWith("Nothing is found"));
  check("numbers are not mended", (await look("987654")).length === 0);
  const both = await look("glycerin qwxzy");
  check("some of the words are told", both.length > 0 && (await status.innerText()).includes("No page has all"));
  check("an empty field says nothing", (await look("")).length === 0 && (await status.innerText()) === "");
  check("a text is no markup", (await look("<img src=x onerror=alert(1)> glycerin")).length > 0 && (await page.locator("#results img").count()) === 0);

  // The keyboard: down, down, up, up into the field, Esc; down and Enter follow the link to its part.
  await look("tubes");
  const focused = () => page.evaluate(() => document.activeElement.innerText || document.activeElement.id);
  await page.keyboard.press("ArrowDown");
  check("an arrow goes to the first", (await focused()) === "Hand cream", await focused());
  await page.keyboard.press("ArrowDown");
  check("an arrow goes on to its part", (await focused()) === "Into the tubes", await focused());
  check("the focus is seen", await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle !== "none"));
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("ArrowUp");
  check("arrows go back to the field", (await focused()) === "words", await focused());
  await page.keyboard.press("Escape");
  check("Esc begins anew", (await field.inputValue()) === "" && (await page.locator("#results li").count()) === 0);
  await look("tubes");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  await page.waitForURL(/hand-cream\.html#into-the-tubes$/);
  await page.goBack();
  await page.waitForTimeout(200);
  check("going back finds again", (await field.inputValue()) === "tubes" && (await page.locator("#results > li").count()) > 0);

  await page.addScriptTag({ path: packaged("axe-core/axe.min.js") });
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    const violations = await page.evaluate(async () => (await globalThis.axe.run(document, { preload: false })).violations.map((one) => `${one.id}: ${one.help}`));
    check(`accessible with results, ${colorScheme}`, violations.length === 0, violations.join("; "));
  }
  await page.setViewportSize({ width: 360, height: 740 });
  check("no sideways scrolling on a phone", await page.evaluate(() => document.scrollingElement.scrollWidth <= 360));
  check("quiet", amiss.length === 0, amiss.join("; "));

  // From the front page to the end and back, by the links at the foot.
  await page.goto(addressOf(join(resolve(folder), "index.html")));
  const first = page.locator(".contents a.title").first();
  const begin = await first.evaluate((link) => link.href);
  await first.click();
  await page.waitForURL(begin);
  let steps = 1;
  while ((await page.locator('a[rel="next"]').count()) > 0) {
    const next = page.locator('a[rel="next"]');
    const title = await next.innerText();
    const target = await next.evaluate((link) => link.href);
    await next.click();
    await page.waitForURL(target);
    const heading = await page.locator("h1").innerText();
    check(`the next page is ${title}`, heading.replace(/\s/g, " ") === title.replace(/\s/g, " "), heading);
    steps += 1;
  }
  await page.goto(addressOf(join(resolve(folder), "index.html")));
  check("all notebooks follow each other", steps === (await page.locator(".contents a.title").count()), String(steps));

  const without = await browser.newContext({ javaScriptEnabled: false });
  const plain = await without.newPage();
  await plain.goto(addressOf(path));
  check("without script there is no field", !(await plain.locator("#words").isVisible()));
  check("without script the lists are named", await plain.getByText("The search needs its script").isVisible());
  check("no page but the search has its data", statSync(join(resolve(folder), "index.html")).size < 40_000);
} finally {
  await browser.close();
}
tally.close();
