// At the bench, the controls: how somebody says what to weigh, ticks it off, and finds it again.

// Controls: a batch, a balance and units for each sheet; a box for each line, and what the balance should read.

/** Steps that balances have: 1, 2 and 5 with any power of ten (OIML R 76). */
const READABILITIES = ["10", "5", "2", "1", "0.5", "0.2", "0.1", "0.05", "0.02", "0.01", "0.005", "0.002", "0.001"];

const weighed = (formula, phase) => {
  const lines = formula.rows.map((_, line) => line).slice(phase.first, phase.last);
  const ticked = lines.filter((line) => formula.ticks.has(line));
  const grams = sum(ticked.map((line) => formula.sheet.printed[line]));
  const { decimals } = formula.sheet;
  const shown = (mass, places) => massText(mass, decimalsIn(view.unit, places), view.unit);
  const count = `${ticked.length} of ${lines.length} weighed`;
  const typed = formula.tares[phase.key] ?? "";
  const tare = typed && readMass(typed);
  phase.tare.removeAttribute("aria-invalid");
  if (typeof tare === "string" && typed) {
    phase.tare.setAttribute("aria-invalid", "true");
    return `${tare} ${count}, ${shown(grams, decimals)}`;
  }
  if (!tare) return `${count}, ${shown(grams, decimals)}`;
  const places = Math.min(scaleOf(typed), decimals);
  return `${count}, ${shown(grams, decimals)}; with its vessel ${shown(add(tare, grams), places)}`;
};

const showTicks = (formula) => {
  formula.boxes?.forEach((box, line) => {
    box.checked = formula.ticks.has(line);
    const [weight] = formula.weights[line].nodes;
    box.setAttribute("aria-label", `${formula.names[line]}, ${weight.data}: weighed`);
    formula.rows[line].classList.toggle("ticked", box.checked);
  });
  if (formula.boxes) for (const phase of formula.phases) {
    const words = weighed(formula, phase);
    if (phase.output.textContent !== words) phase.output.textContent = words;
  }
  formula.untick.hidden = formula.ticks.size === 0;
  formula.back.hidden = !isScaled(formula);
  formula.state.textContent = isScaled(formula) ? `: scaled to ${exactText(formula.sheet.batch)}` : "";
};

/** The boxes and the fields for vessels are there while the bench is open. */
const openBench = (formula) => {
  formula.boxes = formula.rows.map((row, line) => {
    const box = element("input", { type: "checkbox", class: "tick", autocomplete: "off" });
    box.addEventListener("change", () => {
      if (box.checked) formula.ticks.add(line);
      else formula.ticks.delete(line);
      showTicks(formula);
      remember(formula);
    });
    row.querySelector("th > span").prepend(box);
    return box;
  });
  for (const phase of formula.phases) {
    const name = formula.phases.length > 1 ? [element("span", { class: "unseen" }, ` of phase ${phase.key}`)] : [];
    phase.tare = element("input", { type: "text", size: "9", autocomplete: "off", placeholder: "such as 150 g", value: formula.tares[phase.key] ?? "" });
    phase.tare.addEventListener("change", () => {
      const typed = phase.tare.value.trim();
      phase.tare.value = /^[\d.,]+$/.test(typed) ? `${typed} g` : typed;
      formula.tares[phase.key] = phase.tare.value;
      showTicks(formula);
      remember(formula);
    });
    phase.output = element("output", {});
    phase.row = element("tr", { class: "weighed" }, element("td", { colspan: "4" },
      element("label", {}, "Vessel", ...name, " empty ", phase.tare), " ", phase.output));
    if (phase.sub) phase.sub.before(phase.row);
    else phase.body.append(phase.row);
  }
  formula.root.classList.add("at-bench");
  showTicks(formula);
};

const closeBench = (formula) => {
  formula.root.classList.remove("at-bench");
  for (const box of formula.boxes ?? []) box.remove();
  for (const row of formula.rows) row.classList.remove("ticked");
  for (const phase of formula.phases) phase.row?.remove();
  formula.boxes = null;
};

/** What is said is also seen, but for what the sheet shows by itself. */
const say = (formula, words, isSeen = true) => {
  formula.said.textContent = words;
  formula.said.classList.toggle("unseen", !isSeen);
};

/** Reads both fields. What cannot be weighed is said, and the sheet stays as it is. */
const commit = (formula) => {
  const { batchField, balanceField } = formula;
  const batch = readMass(batchField.value, formula.density);
  const step = decimal(balanceField.value);
  const fault = typeof batch === "string" ? batch
    : nearest(over(batch, step)) < 1n ? `A batch of ${exactText(batch)} is less than this balance can weigh.` : "";
  if (fault) {
    batchField.setAttribute("aria-invalid", "true");
    say(formula, `${fault} The sheet stays at ${exactText(formula.sheet.batch)}.`);
    return;
  }
  batchField.removeAttribute("aria-invalid");
  if (compare(batch, formula.sheet.batch) === 0 && balanceField.value === formula.sheet.readability) {
    say(formula, "");
    return;
  }
  formula.sheet = weighOut(formula, batch, balanceField.value);
  const hadTicks = formula.ticks.size > 0;
  formula.ticks.clear();
  showAll();
  remember(formula);
  const now = isScaled(formula) ? `All weights of ${formula.id} are now for ${exactText(batch)} on a balance that reads ${formula.sheet.readability}${SPACE}g.` : "This is the author’s sheet again.";
  say(formula, hadTicks ? `${now} The weights changed, so nothing is ticked any more.` : now, hadTicks);
};

const backToAuthor = (formula) => {
  formula.batchField.value = exactText(formula.batch);
  formula.balanceField.value = formula.readability;
  commit(formula);
  formula.batchField.focus();
};

const choice = (options, chosen, attributes) => {
  const select = element("select", { autocomplete: "off", ...attributes });
  for (const [value, words] of options) select.append(new Option(words, value, value === chosen, value === chosen));
  return select;
};

const addBench = (formula) => {
  formula.own = weighOut(formula, formula.batch, formula.readability);
  formula.sheet = formula.own;
  formula.ticks = new Set();
  formula.tares = {};
  const steps = [...new Set([formula.readability, ...READABILITIES])].sort((a, b) => compare(decimal(b), decimal(a)));
  formula.batchField = element("input", { type: "text", size: "9", autocomplete: "off", spellcheck: "false", value: exactText(formula.batch) });
  formula.balanceField = choice(steps.map((step) => [step, `${step}${SPACE}g`]), formula.readability);
  formula.unitField = choice([["g", "g"], ["kg", "kg"], ["oz", "oz"], ["lb", "lb"]], view.unit);
  formula.degreesField = choice([["", "as written"], ["C", "°C"], ["F", "°F"]], view.degrees);
  formula.back = element("button", { type: "button" }, `Back to ${exactText(formula.batch)}`);
  formula.untick = element("button", { type: "button" }, "Take all ticks off");
  formula.said = element("p", { class: "said unseen", role: "status" });
  formula.state = element("span", {});
  const form = element("form", {},
    element("label", {}, "Batch ", formula.batchField),
    element("label", {}, "Balance reads ", formula.balanceField),
    element("label", {}, "Weights in ", formula.unitField),
    ...(temperatures.length ? [element("label", {}, "Temperatures ", formula.degreesField)] : []),
    element("span", {}, formula.back, " ", formula.untick));
  formula.bench = element("details", { class: "bench" }, element("summary", {}, "At the bench", formula.state), form, formula.said);
  form.addEventListener("submit", (event) => { event.preventDefault(); commit(formula); });
  for (const field of [formula.batchField, formula.balanceField]) field.addEventListener("change", () => commit(formula));
  formula.unitField.addEventListener("change", () => setView({ unit: formula.unitField.value }));
  formula.degreesField.addEventListener("change", () => setView({ degrees: formula.degreesField.value }));
  formula.back.addEventListener("click", () => backToAuthor(formula));
  formula.untick.addEventListener("click", () => {
    formula.ticks.clear();
    showTicks(formula);
    remember(formula);
    say(formula, "Nothing is ticked any more.", false);
    formula.batchField.focus();
  });
  formula.bench.addEventListener("toggle", () => {
    if (formula.bench.open === Boolean(formula.boxes)) return;
    if (formula.bench.open) openBench(formula);
    else closeBench(formula);
    remember(formula);
  });
  formula.root.before(formula.bench);
};

/** Units hold for the whole page. */
const setView = (change) => {
  if (Object.entries(change).every(([key, value]) => view[key] === value)) return;
  Object.assign(view, change);
  for (const formula of formulas) {
    formula.unitField.value = view.unit;
    formula.degreesField.value = view.degrees;
  }
  showAll();
  keep(viewKey, view);
};

// Memory: on this device only, and not everywhere allowed, least of all for pages opened from a folder.

const { collection, page } = document.currentScript.dataset;
const viewKey = `tarebook view: ${collection}`;
const keyOf = (formula) => `tarebook bench: ${[collection, page, formula.id, formula.check].join(" / ")}`;
const keep = (key, value) => {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, JSON.stringify(value));
  } catch { /* Then it is forgotten with the page. */ }
};
const kept = (key) => {
  try {
    return JSON.parse(localStorage.getItem(key)) ?? {};
  } catch {
    return {};
  }
};

function remember(formula) {
  const scaled = isScaled(formula);
  const isBare = !scaled && formula.ticks.size === 0 && !formula.bench.open && !Object.values(formula.tares).some(Boolean);
  keep(keyOf(formula), isBare ? null : {
    batch: scaled ? formula.batchField.value : undefined,
    readability: scaled ? formula.sheet.readability : undefined,
    ticks: [...formula.ticks],
    tares: formula.tares,
    open: formula.bench.open,
  });
}

/** What was kept is read as carefully as what is typed: another version of the page may have left it. */
const recall = (formula) => {
  const { batch, readability, ticks, tares, open } = kept(keyOf(formula));
  const mass = typeof batch === "string" ? readMass(batch, formula.density) : "";
  const isChoice = [...formula.balanceField.options].some((option) => option.value === readability);
  if (typeof mass !== "string" && isChoice && nearest(over(mass, decimal(readability))) >= 1n) {
    formula.batchField.value = batch;
    formula.balanceField.value = readability;
    formula.sheet = weighOut(formula, mass, readability);
  }
  if (Array.isArray(ticks)) formula.ticks = new Set(ticks.filter((line) => formula.rows[line]));
  for (const { key } of formula.phases) if (typeof tares?.[key] === "string") formula.tares[key] = tares[key];
  formula.bench.open = open === true;
};

const seen = kept(viewKey);
if (Object.hasOwn(UNITS, seen.unit) && seen.unit !== "mg") view.unit = seen.unit;
if (temperatures.length && ["C", "F"].includes(seen.degrees)) view.degrees = seen.degrees;
for (const formula of formulas) addBench(formula);
for (const formula of formulas) recall(formula);
showAll();
