// At the bench, the page: finds the numbers that follow a batch by the data attributes of the templates, and puts others in their place.

// What stands on the page. Every text that is ever replaced is kept, so that the author's page comes back to the letter.

/** A number on the page, with the text of its working where it has one. */
class Field {
  constructor(text, working) {
    this.nodes = [text, working];
    this.was = this.nodes.map((node) => node?.data);
    this.working = working ? this.was[1].trim() : "";
  }

  set(...texts) {
    this.nodes.forEach((node, index) => {
      if (!node) return;
      const text = texts[index] ?? this.was[index];
      if (node.data !== text) node.data = text;
    });
  }
}
const lastText = (element) => [...element.childNodes].findLast((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
const firstText = (element) => [...element.childNodes].find((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
/** The number in an element: its summary with the working behind it, or all of its text. */
const fieldIn = (element) => {
  const summary = element?.matches("summary") ? element : element?.querySelector("summary");
  const text = element && lastText(summary ?? element);
  const working = summary?.parentElement.querySelector("p");
  return text ? new Field(text, working ? firstText(working) : null) : null;
};
const element = (name, attributes = {}, ...content) => {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) if (value !== null) made.setAttribute(key, value);
  made.append(...content);
  return made;
};

const readFormula = (root) => {
  const rows = [...root.querySelectorAll("tr[data-line]")];
  const data = root.dataset;
  const amounts = (data.amounts ?? "").split(" ").filter(Boolean).map(decimal);
  let first = 0;
  const phases = [...root.querySelectorAll("tbody")].filter((body) => body.querySelector("tr[data-line]")).map((body) => {
    const sub = body.querySelector("tr.sub");
    const own = { body, sub, first, last: (first += body.querySelectorAll("tr[data-line]").length) };
    own.key = body.querySelector(".phase b")?.textContent ?? "";
    own.weight = fieldIn(sub?.querySelector("td.w"));
    own.vessel = fieldIn(sub?.querySelector("th details"));
    return own;
  });
  const formula = {
    root, rows, amounts, phases, id: data.formula, check: data.check, density: data.density, basis: data.basis,
    batch: decimal(data.batch), readability: data.readability, within: decimal(data.within), whole: decimal(data.whole),
    taker: data.balanceLine === undefined ? null : Number(data.balanceLine),
    uncertainty: data.uncertainty?.split(" ").map(decimal),
    written: rows.map((row) => row.dataset.line),
    names: rows.map((row) => row.querySelector("th > span").textContent.trim()),
    effects: rows.map((row) => row.querySelector(".effect") !== null),
    weights: rows.map((row) => fieldIn(row.querySelector("td.w"))),
    volumes: [...root.querySelectorAll("small.volume")],
    total: fieldIn(root.querySelector("tr.sum td.w")),
    head: fieldIn(root.querySelector(".head .batch details")),
    caption: root.querySelector("caption"),
  };
  // A template of the collection's own may not have what this script looks for; then the sheet stays as it is.
  const isWhole = rows.length === amounts.length && formula.weights.every(Boolean) && formula.total && formula.head && formula.caption;
  return isWhole ? formula : null;
};

const readMethod = (root, formula) => ({
  root, formula, id: root.dataset.method,
  batch: fieldIn(root.querySelector(".for .batch")),
  check: fieldIn(root.querySelector(".for .check")),
  steps: [...root.querySelectorAll(":scope > ol > li")].map((li) => ({
    vessel: li.dataset.vessel ?? "",
    tare: li.dataset.tare,
    added: [...li.querySelectorAll("[data-line]")].map((one) => ({
      line: Number(one.dataset.line), share: one.dataset.share ?? "", field: fieldIn(one.querySelector(".w")),
    })),
    poured: [...li.querySelectorAll("[data-from]")].map((one) => ({ from: one.dataset.from, field: fieldIn(one.querySelector(".w")) })),
    holds: fieldIn(li.querySelector(".holds")),
    withTare: fieldIn(li.querySelector(".with-tare")),
  })),
});

const formulas = [...document.querySelectorAll(".sheet.formula[data-batch]")].map(readFormula).filter(Boolean);
const formulaOf = new Map(formulas.map((formula) => [formula.id, formula]));
const methods = [...document.querySelectorAll(".method[data-of]")].filter((root) => formulaOf.has(root.dataset.of))
  .map((root) => readMethod(root, formulaOf.get(root.dataset.of)));
const methodOf = new Map(methods.filter((method) => method.id).map((method) => [method.id, method]));
/** The numbers of the prose, each with the copy of it that opens on its working, and other weights that only change their unit. */
const links = [...document.querySelectorAll("main .n[data-g], main .n[data-of]")].map((root) => {
  const target = root.getAttribute("href")?.startsWith("#w") ? document.getElementById(root.getAttribute("href").slice(1)) : null;
  const { of = "", parts = "", step, unit, digits, g } = root.dataset;
  return { root, of: of.split(" "), parts, step: Number(step), unit, digits, g, field: fieldIn(root), copy: fieldIn(target?.closest("details")) };
});
// What a batch record has was read off a balance and stays as it was read.
const others = [...document.querySelectorAll(".sheet:not(.record) [data-g]")].map((root) => ({ g: root.dataset.g, field: fieldIn(root) })).filter(({ field }) => field);
const TEMPERATURE = /([−-]?\d+(?:\.\d+)?)(?:(\s*(?:–|\.\.|to)\s*)([−-]?\d+(?:\.\d+)?))?(\s*)°([CF])/g;
const temperatures = [...document.querySelectorAll(".formula .hold, .method .at, .window :is(figcaption, td, svg text, svg title)")]
  .flatMap((root) => [...root.childNodes]).filter((node) => node.nodeType === Node.TEXT_NODE && /\d\s*°[CF]/.test(node.data))
  .map((node) => new Field(node, null));

const view = { unit: "g", degrees: "" };

/** A reading in the other scale: °F exactly, °C to a tenth as the pages print it. A difference is no reading and is not converted. */
const converted = (text, to) => text.replace(TEMPERATURE, (all, low, dash, high, space, from) => {
  if (from === to) return all;
  const one = (reading) => {
    const value = decimal(reading.replace("−", "-"));
    return trimmed(to === "F" ? fixed(add(over(times(value, whole(9)), whole(5)), whole(32)), scaleOf(reading) + 1) : fixed(over(times(minus(value, whole(32)), whole(5)), whole(9)), 1));
  };
  return `${one(low)}${high === undefined ? "" : `${dash}${one(high)}`}${space}°${to}`;
});

const showTemperatures = () => {
  for (const field of temperatures) field.set(view.degrees ? converted(field.was[0], view.degrees) : undefined);
};

/** The working of a sum, as the compiler writes it: it keeps its own words where it has some. */
const sumWorking = (was, parts, total) => (was.startsWith("all ") ? `${was.slice(0, was.indexOf(":"))}: ${total}` : `${parts.join(" + ")} = ${total}`);

const lineWorking = (formula, sheet, line, was) => {
  const [exact, printed, amount] = [sheet.exact[line], sheet.printed[line], formula.amounts[line]];
  const volume = /; written as (.+), turned into a weight/.exec(was)?.[1];
  let words = `${was.split(" of ")[0]} of ${exactText(sheet.batch)} = ${exactText(exact)}`;
  if (formula.basis === "weights" && !volume && compare(amount, exact) !== 0) words += `; written as ${exactText(amount)} and scaled to the batch`;
  if (volume) words += `; written as ${volume}, turned into a weight`;
  const unsure = formula.uncertainty && over(times(formula.uncertainty[line], sheet.batch), formula.whole);
  if (volume && unsure && unsure[0] > 0n) words += ` by a density that leaves it uncertain by ±${massText(unsure, sheet.decimals + 1)}`;
  if (compare(exact, printed) !== 0) {
    const off = minus(printed, exact);
    const isNearest = compare(times(off[0] < 0n ? minus(exact, printed) : off, whole(2)), sheet.step) <= 0;
    if (formula.taker === line) words += "; the balance line takes the rounding of the others, so that the sheet adds up: ";
    else if (isNearest) words += "; rounded to the balance: ";
    else words += `; rounded ${off[0] > 0n ? "up" : "down"} to the balance, so that the sheet adds up: `;
    words += massText(printed, sheet.decimals);
  }
  return words;
};

/** A weight with the sign of the text that it takes the place of: a difference says which way it goes. */
const signedText = (grams, decimals, unit, was) => {
  const sign = /^\s*([+−-]?)/.exec(was)[1];
  const size = sign && grams[0] < 0n ? [-grams[0], grams[1]] : grams;
  return `${sign}${massText(size, decimals, unit)}`;
};

/** Puts a weight into its field. The working is in grams; beside another unit the weight is said in grams too. */
const put = (field, grams, decimals, working) => {
  if (!field) return;
  const shown = massText(grams, decimalsIn(view.unit, decimals), view.unit);
  const words = view.unit === "g" ? working : `${working ?? field.working}; in grams ${massText(grams, decimals)}`;
  field.set(shown, words === undefined ? undefined : `${words} `);
};

const isScaled = (formula) => compare(formula.sheet.batch, formula.batch) !== 0 || formula.sheet.readability !== formula.readability;
const authors = (formula) => `${exactText(formula.batch)} on a balance that reads ${formula.readability}${SPACE}g`;

const showSheet = (formula) => {
  const { sheet } = formula;
  const scaled = isScaled(formula);
  const text = (index) => massText(sheet.printed[index], sheet.decimals);
  const working = (words) => (scaled ? words() : undefined);
  formula.weights.forEach((field, line) => put(field, sheet.printed[line], sheet.decimals, working(() => lineWorking(formula, sheet, line, field.working))));
  for (const phase of formula.phases) {
    const lines = sheet.printed.slice(phase.first, phase.last);
    const [own, held] = [sum(lines), sum(sheet.printed.slice(0, phase.last))];
    const parts = lines.map((_, index) => text(phase.first + index));
    put(phase.weight, own, sheet.decimals, working(() => sumWorking("", parts, massText(own, sheet.decimals))));
    put(phase.vessel, held, sheet.decimals, working(() => sumWorking(phase.vessel?.working ?? "", [], massText(held, sheet.decimals))));
  }
  const total = sum(sheet.printed);
  put(formula.total, total, sheet.decimals, working(() => sumWorking(formula.total.working, [], massText(total, sheet.decimals))));
  put(formula.head, sheet.batch, decimalsOfExact(sheet.batch), working(() => `set on this page; the author’s sheet is for ${exactText(formula.batch)}`));
  showWords(formula, scaled);
};

/** Which sheet this is, in words: the check value and what was found belong to the author's. */
const showWords = (formula, scaled) => {
  const { root, sheet } = formula;
  formula.words ??= [".head .balance", ".head .check", "tfoot td"].map((selector) => fieldIn(root.querySelector(selector)));
  const [balance, check, foot] = formula.words;
  const [batch, own] = [exactText(sheet.batch), authors(formula)];
  balance?.set(scaled ? `balance ${sheet.readability}${SPACE}g` : undefined);
  check?.set(scaled ? `check ${formula.check} of the author’s sheet` : undefined);
  foot?.set(scaled ? `${formula.id}, scaled to ${batch} from the author’s ${exactText(formula.batch)}; check ${formula.check} belongs to that sheet` : undefined);
  for (const added of root.querySelectorAll(".scaled, .of-batch")) added.remove();
  for (const volume of formula.volumes) if (scaled) volume.append(element("span", { class: "of-batch" }, ` for ${exactText(formula.batch)}`));
  const stale = [...root.querySelectorAll(".findings > li")].filter((item) => item.querySelector("small code")?.textContent === "poorly-weighed");
  for (const item of stale) item.hidden = scaled;
  if (!scaled) return;
  formula.caption.append(element("div", { class: "scaled" },
    `Scaled on this page to ${batch} on a balance that reads ${sheet.readability}${SPACE}g. The author’s sheet is for ${own}, and what was typed in the text still speaks of that.`));
  const list = root.querySelector(":scope > .findings");
  const here = poorlyWeighed(formula, sheet).map(({ what, mend }) =>
    element("li", { class: "caution" }, element("b", {}, "caution"), element("span", {}, `${what} `, element("span", { class: "mend" }, mend))));
  const added = here.length ? [element("ul", { class: "findings scaled" }, ...here)] : [];
  if (list?.querySelector(":scope > li:not([hidden])")) {
    added.push(element("p", { class: "of-batch" }, `Found for the author’s sheet, ${own}; only what the balance does to small weights was looked at again:`));
  }
  if (list) list.before(...added);
  else root.append(...added);
};

const showMethod = (method) => {
  const { formula, root } = method;
  const scaled = isScaled(formula);
  const steps = scaled || view.unit !== "g" ? follow(method, formula.sheet) : null;
  // What cannot be divided so stays as the author wrote it, and says so.
  method.fault = typeof steps === "string" ? steps : "";
  const sheet = method.fault ? formula.own : formula.sheet;
  const shown = method.fault ? follow(method, formula.own) : steps;
  root.querySelector(":scope > .of-batch")?.remove();
  method.weighed = null;
  const moved = scaled && !method.fault;
  const made = sum(sheet.printed);
  const batch = `batch ${massText(made, decimalsIn(view.unit, sheet.decimals), view.unit)}`;
  method.batch?.set(moved ? `${batch}, scaled on this page` : view.unit === "g" ? undefined : batch);
  method.check?.set(moved ? `check ${formula.check} of the author’s sheet` : undefined);
  if (method.fault) {
    const why = `For ${exactText(formula.sheet.batch)} ${method.fault}. This method stands as the author wrote it, for ${authors(formula)}.`;
    root.querySelector(".for").after(element("p", { class: "of-batch" }, why));
  }
  if (typeof shown === "string") return;
  for (const [index, step] of method.steps.entries()) {
    const now = shown?.[index];
    const grams = (count) => sheet.grams(count);
    if (!now) {
      for (const field of [...step.added, ...step.poured].map((one) => one.field).concat(step.holds, step.withTare)) field?.set();
      continue;
    }
    step.added.forEach((one, rank) => put(one.field, grams(now.added[rank]), sheet.decimals));
    step.poured.forEach((one, rank) => put(one.field, grams(now.poured[rank]), sheet.decimals));
    const text = (count) => massText(grams(count), sheet.decimals);
    put(step.holds, grams(now.holds), sheet.decimals, moved ? `${now.parts.map(text).join(" + ")} = ${text(now.holds)}` : undefined);
    if (step.tare) {
      const tare = decimal(step.tare.replace(/\s.*/, ""));
      put(step.withTare, add(tare, grams(now.holds)), Math.min(scaleOf(step.tare), sheet.decimals));
    }
  }
  if (moved) method.weighed = shown;
};

/** What a number of the prose comes to for the batch that is shown: grams, decimals and working; none where it is not reckoned again. */
const reckon = (link) => {
  const formula = formulaOf.get(link.of[0]);
  const was = link.copy?.working ?? "";
  if (formula) {
    const { sheet } = formula;
    if (link.parts === "batch") return [sheet.batch, decimalsOfExact(sheet.batch), `set on this page; the author’s sheet is for ${exactText(formula.batch)}`];
    const lines = link.parts.split(" ").map(Number);
    const total = sum(lines.map((line) => sheet.printed[line]));
    const [one] = lines;
    const texts = lines.map((line) => massText(sheet.printed[line], sheet.decimals));
    const working = lines.length === 1 && was.includes(" of ") ? lineWorking(formula, sheet, one, was) : sumWorking(was, texts, massText(total, sheet.decimals));
    return [total, sheet.decimals, working];
  }
  const method = methodOf.get(link.of[0]);
  const step = method.weighed?.[link.step - 1];
  if (!step) return null;
  const { sheet } = method.formula;
  const holds = sheet.grams(step.holds);
  const text = (count) => massText(sheet.grams(count), sheet.decimals);
  if (link.parts === "vessel") return [holds, sheet.decimals, `${step.parts.map(text).join(" + ")} = ${text(step.holds)}`];
  const { tare, added } = method.steps[link.step - 1];
  if (link.parts === "with-tare") {
    return [add(decimal(tare.replace(/\s.*/, "")), holds), Math.min(scaleOf(tare), sheet.decimals), `the empty vessel, ${tare}, and what it holds, ${text(step.holds)}`];
  }
  const lines = link.parts.split(" ").map(Number);
  return [sheet.grams(added.reduce((total, one, rank) => (lines.includes(one.line) ? total + step.added[rank] : total), 0n)), sheet.decimals, was];
};

const showLinks = () => {
  for (const link of links) {
    const behind = link.of.map((id) => formulaOf.get(id) ?? methodOf.get(id)?.formula).filter(Boolean);
    const moved = behind.filter(isScaled);
    const now = moved.length > 0 && link.parts ? reckon(link) : null;
    link.mark?.remove();
    link.mark = null;
    if (moved.length > 0 && !now) {
      link.mark = element("small", { class: "of-batch" }, ` (for ${moved.map((formula) => exactText(formula.batch)).join(", ")})`);
      link.root.after(link.mark);
    }
    const asked = link.unit !== undefined || link.digits !== undefined;
    const [grams, decimals, working] = now ?? [link.g && decimal(link.g), scaleOf(link.field.was[0])];
    const unit = asked ? link.unit ?? "g" : view.unit;
    if (!grams || (!now && (asked || unit === "g"))) {
      link.field.set();
      link.copy?.set();
      continue;
    }
    const shown = signedText(grams, link.digits === undefined ? decimalsIn(unit, decimals) : Number(link.digits), unit, link.field.was[0]);
    link.field.set(shown);
    link.copy?.set(shown, now ? `${working} ` : undefined);
  }
  for (const { g, field } of others) {
    field.set(view.unit === "g" ? undefined : signedText(decimal(g), decimalsIn(view.unit, scaleOf(field.was[0])), view.unit, field.was[0]));
  }
  for (const root of document.querySelectorAll(".sheet[data-for]")) {
    root.querySelector(":scope > .of-batch")?.remove();
    const moved = root.dataset.for.split(" ").map((id) => formulaOf.get(id)).filter((formula) => formula && isScaled(formula));
    if (moved.length > 0) root.prepend(element("p", { class: "of-batch" }, `What hangs on the size of the batch is reckoned here for the author’s: ${moved.map((formula) => `${exactText(formula.batch)} of ${formula.id}`).join(", ")}.`));
  }
};

const foot = document.documentElement.style.getPropertyValue("--foot").trim();
const showAll = () => {
  for (const formula of formulas) showSheet(formula);
  for (const method of methods) showMethod(method);
  showLinks();
  showTemperatures();
  const scaled = formulas.filter(isScaled).map((formula) => `${formula.id} scaled to ${exactText(formula.sheet.batch)}`);
  if (foot) document.documentElement.style.setProperty("--foot", scaled.length ? `${foot.slice(0, -1)} (${scaled.join(", ")})"` : foot);
  for (const formula of formulas) showTicks(formula);
};
