// Weighs formulas out on their pages for sizes that the compiler was asked for too, and compares every text; then uses the bench as people
// do: with the keyboard, with a reload in between, on paper, and without script.
//
//   node tests/browser/bench.mjs FOLDER
//
// FOLDER holds `expected.json` and the pages it speaks of, as `cargo test` leaves them in `target/tmp/bench`. Needs what pages.mjs needs.

import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { Tally, addressOf, dataOf, launch, packaged } from "./tools.mjs";

const [folder] = process.argv.slice(2);
if (!folder) {
  console.error("Say where the pages and the table are: node tests/browser/bench.mjs target/tmp/bench");
  process.exit(2);
}
const tally = new Tally(folder);
const table = JSON.parse(readFileSync(join(folder, "expected.json"), "utf8"));
const at = (page) => join(resolve(folder), page);

/** Sets one size after the other on the page and reads everything that follows it. Runs inside the browser and so stands alone. */
function weighOut(sizes) {
  return sizes.map(({ formula: id, batch, readability, unit }, index) => {
    const root = document.querySelector(`[data-formula="${id}"]`);
    const bench = root.previousElementSibling;
    bench.open = true;
    const [batchField] = bench.querySelectorAll("input");
    const [balanceField, unitField] = bench.querySelectorAll("select");
    const change = (field, value) => {
      field.value = value;
      field.dispatchEvent(new Event("change"));
    };
    // In one go, as the form is sent; the balance first would weigh the batch before on it.
    batchField.value = batch;
    balanceField.value = readability;
    bench.querySelector("form").requestSubmit();
    change(unitField, unit);
    const shown = (element) => {
      if (!element) return null;
      const summary = element.querySelector("summary");
      const text = (summary ?? element).textContent.trim();
      const working = summary && [...element.querySelector("details > p, p").childNodes].find((node) => node.nodeType === 3).data.trim();
      return [text, working ?? ""];
    };
    const first = (element) => shown(element)?.[0] ?? null;
    const methods = {};
    for (const method of document.querySelectorAll(`.method[data-of="${id}"]`)) {
      const fault = method.querySelector(".of-batch")?.textContent ?? "";
      methods[method.dataset.method] = fault || [...method.querySelectorAll("ol > li")].map((step) => ({
        added: [...step.querySelectorAll("[data-line] .w")].map(first),
        poured: [...step.querySelectorAll("[data-from] .w")].map(first),
        holds: shown(step.querySelector(".then details") && step.querySelector(".then")) ?? [first(step.querySelector(".then .holds")), ""],
        with_tare: first(step.querySelector(".with-tare")),
      }));
    }
    return {
      said: bench.querySelector(".said").textContent,
      batch: first(root.querySelector(".head .batch")),
      lines: [...root.querySelectorAll("tr[data-line] td.w")].map(shown),
      phases: [...root.querySelectorAll("tr.sub")].map((row) => [shown(row.querySelector("td.w")), shown(row.querySelector("th details").parentElement)]),
      total: shown(root.querySelector("tr.sum td.w")),
      poor: [...root.querySelectorAll(".findings.scaled > li > span")].map((span) => span.firstChild.data.trim()),
      hidden: [...root.querySelectorAll(".findings > li")]
        .filter((item) => !item.matches(".scaled > li") && item.textContent.includes("poorly-weighed"))
        // Whether it is really not seen takes a layout, and is asked once.
        .filter((item) => (index === sizes.length - 1 ? item.checkVisibility() : !item.hidden)).length,
      methods,
      numbers: [...document.querySelectorAll("main .n:not(.sheet .n)")].map((link) => {
        const copy = link.getAttribute("href")?.startsWith("#w") && document.getElementById(link.getAttribute("href").slice(1));
        const working = copy && [...copy.childNodes].find((node) => node.nodeType === 3).data.trim();
        const copied = copy && copy.parentElement.querySelector("summary").lastChild.data;
        return { text: link.textContent, of: link.dataset.of ?? "", copied: copied || link.textContent, working: working || "", mark: link.nextElementSibling?.matches(".of-batch") ?? false };
      }),
    };
  });
}

/** The working in grams, without what is said beside another unit. */
const inGrams = ([text, working]) => [text, working.replace(/; in grams .*/, "")];

function compare(size, seen, data) {
  const { page, formula, batch, readability, unit, expected } = size;
  const label = `${formula} for ${batch} by ${readability} g in ${unit}`;
  const same = (what, one, other) => tally.same(at(page), `${label}: ${what}`, one, other);
  same("batch", seen.batch, expected.batch);
  same("line", seen.lines.map(inGrams), expected.lines);
  if (expected.phases.length > 1) same("phase", seen.phases.map((two) => two.map(inGrams)), expected.phases);
  same("total", inGrams(seen.total), expected.total);
  same("poorly weighed", seen.poor.sort(), expected.poor.sort());
  same("stale findings", seen.hidden, 0);
  const divided = Object.entries(seen.methods);
  for (const [id, steps] of divided) {
    const wanted = expected.methods[id];
    if (!wanted) {
      tally.check(at(page), `${label}: ${id} says why it cannot be divided`, typeof steps === "string" && steps.includes("stands as the author wrote it"), JSON.stringify(steps));
      continue;
    }
    same(`steps of ${id}`, steps.length, wanted.length);
    wanted.forEach((step, index) => {
      const one = steps[index];
      for (const part of ["added", "poured", "with_tare"]) same(`${id}, step ${index + 1}, ${part}`, one[part], step[part]);
      if (one.holds[0] !== null) same(`${id}, step ${index + 1}, holds`, one.holds[0], step.holds);
      if (one.holds[1]) same(`${id}, step ${index + 1}, working`, inGrams(one.holds)[1], step.working);
    });
  }
  // Numbers of the formula itself, or of its method; those of other formulas follow another batch.
  let compared = 0;
  const own = [formula, ...divided.map(([id]) => id)];
  seen.numbers.forEach((number, index) => {
    if (!number.of.split(" ").some((id) => own.includes(id))) return;
    const { asked } = data.numbers[index];
    const wanted = expected.numbers[asked];
    if (number.mark || !wanted) {
      tally.check(at(page), `${label}: ${asked} says for which batch it is`, number.mark);
      return;
    }
    compared += 1;
    same(asked, [number.text, number.copied], [wanted[0], wanted[0]]);
    if (number.working && !asked.endsWith("/batch")) same(`working of ${asked}`, number.working.replace(/; in grams .*/, ""), wanted[1]);
  });
  return compared;
}

async function compareSizes(browser) {
  let numbers = 0;
  for (const path of new Set(table.map((size) => size.page))) {
    const page = await browser.newPage();
    page.on("pageerror", (error) => tally.check(at(path), "no error in the script", false, error.stack));
    await page.goto(addressOf(at(path)));
    const sizes = table.filter((size) => size.page === path);
    const [seen, data] = [await page.evaluate(weighOut, sizes), dataOf(at(path))];
    sizes.forEach((size, index) => { numbers += compare(size, seen[index], data); });
    await page.close();
  }
  tally.check(at("expected.json"), "five hundred sizes were compared", table.length === 500);
  tally.check(at("expected.json"), "numbers of the prose were among them", numbers > 100, String(numbers));
}

/** Everything that is seen in the main part of a page, and what its bench says. */
const seenText = (page) => page.evaluate(() => document.querySelector("main").innerText);

const WASH = "demo/barley-and-oat-body-wash.html";

/** The author's page comes back to the letter. */
async function comeBack(browser) {
  const page = await browser.newPage();
  await page.goto(addressOf(at(WASH)));
  const before = await page.evaluate(() => document.querySelector("main").innerHTML);
  const bench = page.locator(".bench").first();
  await bench.locator("summary").click();
  await bench.locator("input").first().fill("123.4 g");
  await bench.locator("input").first().press("Enter");
  await bench.locator("select").nth(1).selectOption("oz");
  await bench.locator("select").nth(2).selectOption("F");
  tally.check(at(WASH), "the sheet says that it is scaled", (await page.locator(".formula .scaled").first().innerText()).includes("123.4\u00a0g"));
  const hold = await page.locator(".formula .hold").first().innerText();
  tally.same(at(WASH), "a temperature in °F", hold, "131\u00a0°F");
  tally.check(at(WASH), "a step’s temperature in °F", (await page.locator(".method .at").allInnerTexts()).some((text) => text === "below 104\u00a0°F"));
  tally.check(at(WASH), "a window’s temperature in °F", /104\u00a0°F/.test(await page.locator(".window figcaption").last().innerText()));
  const notes = page.locator(".formula tbody small", { hasText: "warm the jar to 40" }).first();
  tally.check(at(WASH), "what the author typed stays", (await notes.innerText()).includes("40\u00a0°C"));
  await bench.locator("select").nth(2).selectOption("");
  await bench.locator("select").nth(1).selectOption("g");
  await bench.getByRole("button", { name: "Back to" }).click();
  await bench.locator("summary").click();
  await page.waitForFunction(() => !document.querySelector(".tick"));
  const after = await page.evaluate(() => document.querySelector("main").innerHTML);
  const clean = (html) => html.replaceAll(' value="2000&nbsp;g"', "").replace(/<details class="bench".*?<\/details>/gs, "").replaceAll(' class=""', "").replaceAll(/ hidden=""/g, "");
  tally.check(at(WASH), "the author’s page comes back", clean(after) === clean(before));
  await page.close();
}

/** With the keyboard alone, and with a reload in between. */
async function useKeyboard(browser) {
  const context = await browser.newContext();
  const page = await context.newPage();
  const open = async () => {
    await page.goto(addressOf(at(WASH)));
    return page.locator(".bench").first();
  };
  let bench = await open();
  await bench.locator("summary").focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  await page.keyboard.press("ControlOrMeta+a");
  await page.keyboard.type("1,5 kg");
  await page.keyboard.press("Enter");
  const weight = () => page.locator("tr[data-line] td.w summary").first().innerText();
  tally.same(at(WASH), "the water of 1,5 kg", await weight(), "772.50\u00a0g");
  for (const [typed, words] of [["", "no number"], ["500", "needs a unit"], ["1,500 g", "in two ways"], ["0 g", "nothing to weigh"], ["0.001 g", "less than this balance"], ["2 cups", "needs a unit"]]) {
    await bench.locator("input").first().fill(typed);
    await page.keyboard.press("Enter");
    const said = await bench.getByRole("status").innerText();
    tally.check(at(WASH), `“${typed}” is refused in words`, said.includes(words) && said.includes("stays at 1500\u00a0g"), said);
    tally.same(at(WASH), `the sheet after “${typed}”`, await weight(), "772.50\u00a0g");
  }
  tally.same(at(WASH), "the field is marked", await bench.locator("input").first().getAttribute("aria-invalid"), "true");
  await bench.locator("input").first().fill("1.5 kg");
  await page.keyboard.press("Enter");
  tally.same(at(WASH), "the mark goes", await bench.locator("input").first().getAttribute("aria-invalid"), null);
  // On through the fields and buttons to the first box, tick it and the next.
  for (let presses = 0; presses < 12; presses += 1) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement.matches(".tick"))) break;
  }
  await page.keyboard.press("Space");
  const label = await page.evaluate(() => document.activeElement.getAttribute("aria-label"));
  tally.same(at(WASH), "the label of a box", label, "Purified water, 772.50\u00a0g: weighed");
  await page.getByRole("textbox", { name: "Vessel of phase A empty" }).fill("150.0");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  const output = () => page.locator(".weighed output").first().innerText();
  const wanted = "1 of 5 weighed, 772.50\u00a0g; with its vessel 922.5\u00a0g";
  tally.same(at(WASH), "what the balance reads", await output(), wanted);
  const size = await page.locator(".tick").first().boundingBox();
  tally.check(at(WASH), "a box is large enough to touch", size.width >= 24 && size.height >= 24, JSON.stringify(size));
  const ticked = () => page.locator(".tick:checked").count();
  bench = await open();
  tally.same(at(WASH), "the batch after a reload", await weight(), "772.50\u00a0g");
  tally.same(at(WASH), "the ticks after a reload", [await ticked(), await output()], [1, wanted]);
  await bench.locator("input").first().fill("1 kg");
  await page.keyboard.press("Enter");
  tally.same(at(WASH), "no tick outlives the weights it was for", await ticked(), 0);
  await page.locator(".tick").nth(2).check();
  await bench.getByRole("button", { name: "Take all ticks off" }).click();
  tally.same(at(WASH), "ticks can be taken off", await ticked(), 0);
  // The other formula of the page has its own.
  const other = await page.locator(".formula").nth(1).innerText();
  tally.check(at(WASH), "another formula keeps its batch", other.includes("batch 2000"));
  // Where nothing may be kept, it works for as long as the page is open.
  await context.addInitScript(() => Object.defineProperty(globalThis, "localStorage", { get: () => { throw new Error("refused"); } }));
  bench = await open();
  tally.same(at(WASH), "without memory the author’s sheet is shown", await weight(), "1030.00\u00a0g");
  await bench.locator("summary").click();
  await bench.locator("input").first().fill("1 kg");
  await page.keyboard.press("Enter");
  tally.same(at(WASH), "and another batch can be weighed", await weight(), "515.00\u00a0g");
  await context.close();
}

/** axe-core with all of it open, the layout on a phone, and what is printed. */
async function audit(browser) {
  for (const [looks, viewport] of [["wide", { width: 1280, height: 900 }], ["phone", { width: 360, height: 740 }]]) {
    const page = await browser.newPage({ viewport });
    await page.goto(addressOf(at(WASH)));
    for (const summary of await page.locator(".bench > summary").all()) await summary.click();
    const bench = page.locator(".bench").first();
    await bench.locator("input").first().fill("20 g");
    await bench.locator("input").first().press("Enter");
    await bench.locator("select").first().selectOption("0.1");
    await page.locator(".tick").nth(1).check();
    await page.addScriptTag({ path: packaged("axe-core/axe.min.js") });
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      const found = await page.evaluate(async () => (await globalThis.axe.run(document, { resultTypes: ["violations"] })).violations
        .map((one) => `${one.id} at ${one.nodes.map((node) => node.target).join(", ")}`));
      tally.check(at(WASH), `accessible with the bench open, ${looks}, ${colorScheme}`, found.length === 0, found.join("; "));
    }
    const wide = await page.evaluate(() => document.scrollingElement.scrollWidth - document.scrollingElement.clientWidth);
    tally.same(at(WASH), `sideways scrolling, ${looks}`, wide, 0);
    await page.emulateMedia({ media: "print" });
    const printed = await page.evaluate(() => ({
      controls: [...document.querySelectorAll(".bench, .tick, .weighed")].filter((one) => one.checkVisibility()).length,
      words: document.querySelector(".formula .scaled").checkVisibility(),
    }));
    tally.same(at(WASH), `on paper, ${looks}`, printed, { controls: 0, words: true });
    await page.close();
  }
}

/** Beside the sheets weights change their unit too, differences keep their sign, and all of it comes back to the letter. */
async function changeUnits(browser) {
  const page = await browser.newPage();
  await page.goto(addressOf(at(WASH)));
  await page.locator(".bench > summary").first().click();
  const read = () => page.locator(".comparison [data-g]").evaluateAll((all) => all.map((one) => [one.dataset.g, one.textContent.trim()]));
  const before = await read();
  tally.check(at(WASH), "weights of a comparison", before.length > 4 && before.some(([, text]) => /^[+−]/.test(text)), `${before.length}`);
  const unit = page.locator(".bench select").nth(1);
  await unit.selectOption("oz");
  for (const [index, [grams, text]] of (await read()).entries()) {
    const [, sign, number] = /^([+−]?)([\d.]+)\u00a0oz$/.exec(text) ?? [];
    const close = Math.abs(Number(number) * 28.349523125 - Math.abs(Number(grams))) < 0.03;
    tally.check(at(WASH), "a weight of a comparison in ounces", close && sign === /^[+−]?/.exec(before[index][1])[0], `${grams} g is ${text}`);
  }
  await unit.selectOption("g");
  tally.same(at(WASH), "weights of a comparison in grams again", await read(), before);
  await page.close();
}

/** Without script there is no trace of it. */
async function withoutScript(browser) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(addressOf(at(WASH)));
  tally.same(at(WASH), "controls without script", await page.locator(".bench, .tick, .weighed, main :is(select, button, input:not([type=checkbox]))").count(), 0);
  tally.check(at(WASH), "all weights without script", (await page.locator("tr[data-line] td.w").allInnerTexts()).every((text) => text.trim()));
  await context.close();
  const quiet = await browser.newPage();
  await quiet.goto(addressOf(at(WASH)));
  const text = await seenText(quiet);
  tally.check(at(WASH), "until it is opened only one line of it is seen", text.includes("At the bench") && !text.includes("Balance reads"));
  await quiet.close();
}

const browser = await launch();
try {
  await compareSizes(browser);
  await comeBack(browser);
  await useKeyboard(browser);
  await audit(browser);
  await changeUnits(browser);
  await withoutScript(browser);
} finally {
  await browser.close();
}
tally.close();
