// At the bench, the weighing: exact arithmetic, and what the compiler's rules make of a formula. Nothing here knows of a page.
//
// Weights are reckoned with fractions of whole numbers and never with floating point: multiples of the readability, halves to even
// (ASTM E29); the balance line takes the difference, or else the largest remainders do. A browser test holds every text that comes out
// against the compiler's.

// Fractions: whole numbers [numerator, denominator], the denominator above zero.

const whole = (n) => [BigInt(n), 1n];
const ten = (power) => 10n ** BigInt(power);
const scaleOf = (text) => (/\.(\d+)/.exec(text)?.[1] ?? "").length;
const decimal = (text) => [BigInt(text.replace(".", "")), ten(scaleOf(text))];
const add = (a, b) => [a[0] * b[1] + b[0] * a[1], a[1] * b[1]];
const minus = (a, b) => add(a, [-b[0], b[1]]);
const times = (a, b) => [a[0] * b[0], a[1] * b[1]];
const over = (a, b) => times(a, b[0] < 0n ? [-b[1], -b[0]] : [b[1], b[0]]);
const compare = (a, b) => { const left = a[0] * b[1], right = b[0] * a[1]; return left < right ? -1 : left > right ? 1 : 0; };
const isZero = (a) => a[0] === 0n;
const sum = (all) => all.reduce(add, whole(0));
const floor = ([n, d]) => n / d - (n % d < 0n ? 1n : 0n);
/** The nearest whole number, halves to the even one. */
const nearest = (a) => {
  const below = floor(a);
  const twice = compare(times(minus(a, whole(below)), whole(2)), whole(1));
  return twice > 0 || (twice === 0 && below % 2n !== 0n) ? below + 1n : below;
};
/** With so many decimals, halves to even. */
const fixed = (a, decimals) => {
  const digits = nearest(times(a, whole(ten(decimals))));
  const text = String(digits < 0n ? -digits : digits).padStart(decimals + 1, "0");
  const cut = text.length - decimals;
  return `${digits < 0n ? "−" : ""}${text.slice(0, cut)}${decimals ? "." : ""}${text.slice(cut)}`;
};
const trimmed = (text) => (text.includes(".") ? text.replace(/\.?0+$/, "") : text);

// Weights as text, in the words of the pages.

const SPACE = "\u00a0";
/** Grams in one of each unit. An ounce is a sixteenth of a pound of exactly 453.592 37 g. */
const UNITS = { mg: decimal("0.001"), g: whole(1), kg: whole(1000), oz: decimal("28.349523125"), lb: decimal("453.59237") };
/** The decimals of a unit, so that those of the grams are kept. */
const decimalsIn = (unit, ofGrams) => Math.max(0, ofGrams + { mg: -3, g: 0, kg: 3, oz: 2, lb: 3 }[unit]);
/** A number with its unit; what is not nothing never stands as zero. */
const withUnit = (value, decimals, unit) => {
  const text = fixed(value, decimals);
  const shown = !isZero(value) && !/[1-9]/.test(text) ? `under${SPACE}${fixed([1n, ten(decimals)], decimals)}` : text;
  return `${shown}${SPACE}${unit}`;
};
const massText = (grams, decimals, unit = "g") => withUnit(over(grams, UNITS[unit]), decimals, unit);
const decimalsOfExact = (grams) => {
  for (let decimals = 0; decimals < 6; decimals += 1) if ((grams[0] * ten(decimals)) % grams[1] === 0n) return decimals;
  return 6;
};
const exactText = (grams, unit = "g") => massText(grams, decimalsIn(unit, decimalsOfExact(grams)), unit);

// What people type: a number as it may be written in a notebook, with its unit. What is not understood is said in words.

const VOLUMES = {
  µl: "0.001", μl: "0.001", ul: "0.001", µL: "0.001", μL: "0.001", ml: "1", mL: "1", l: "1000", L: "1000",
  "metric teaspoon": "5", "metric tablespoon": "15", "australian tablespoon": "20", "us teaspoon": "4.92892159375",
  "us tablespoon": "14.78676478125", "us fluid ounce": "29.5735295625",
};
/** The number, or why it is none, as the end of a sentence. */
const readNumber = (text) => {
  if (!/\d/.test(text)) return "holds no number";
  if (!/^[+\-−]?[\d.,_]+$/.test(text)) return "is not a plain decimal number";
  const plain = text.replace(/^\+/, "").replace("−", "-").replaceAll("_", "").replaceAll(",", ".");
  const points = plain.split(".").length - 1;
  const doubtful = "can be read in two ways, as a decimal number or as thousands";
  if (points > 1) return text.includes(",") ? doubtful : "is not a plain decimal number";
  const [before, after = ""] = plain.replace("-", "").split(".");
  if (text.includes(",") && after.length === 3 && before.length <= 3 && !before.startsWith("0")) return doubtful;
  if (!before || (points === 1 && !after)) return "is not a plain decimal number";
  if (before.length + after.length > 14) return "has more than 14 digits, more than can be computed exactly";
  if (before.length > 9) return "is larger than 999\u202f999\u202f999, more than is ever weighed or counted";
  return plain.startsWith("-") ? minus(whole(0), decimal(plain.slice(1))) : decimal(plain);
};
/** Grams of "500 g", "2kg", "1.5 l" with a density; or a sentence that says why not. */
const readMass = (typed, density) => {
  const text = typed.trim();
  const [, digits, rest] = /^([+\-−]?[\d.,_]*)(.*)$/s.exec(text);
  const unit = rest.trim();
  const number = readNumber(digits);
  if (typeof number === "string") return `“${text}” ${number}.`;
  if (number[0] <= 0n) return `“${text}” is nothing to weigh.`;
  if (Object.hasOwn(UNITS, unit)) return times(number, UNITS[unit]);
  if (!Object.hasOwn(VOLUMES, unit)) return `“${text}” needs a unit such as g, kg or l.`;
  if (!density) return `“${text}” is a volume, and no density of the product is given.`;
  return times(times(number, decimal(VOLUMES[unit])), decimal(density));
};

// Sheets and methods: weights counted in steps of the balance.

/** Parts in whole steps that add up to `all`: the taker takes the difference; without one, or when less than nothing would be left for
    it, the largest remainders do, ties to the earlier part. */
const apportion = (parts, all, taker) => {
  if (taker !== null) {
    const steps = parts.map(nearest);
    const others = steps.reduce((total, part, index) => (index === taker ? total : total + part), 0n);
    if (others <= all) return steps.map((part, index) => (index === taker ? all - others : part));
  }
  const steps = parts.map(floor);
  const rests = parts.map((part, index) => ({ index, rest: minus(part, whole(steps[index])) }));
  rests.sort((a, b) => compare(b.rest, a.rest) || a.index - b.index);
  let missing = all - steps.reduce((total, part) => total + part, 0n);
  for (const { index } of rests) {
    if (missing < 1n) break;
    steps[index] += 1n;
    missing -= 1n;
  }
  return steps;
};

/** The sheet of a formula for a batch in grams, on a balance of this readability in grams as text. */
const weighOut = (formula, batch, readability) => {
  const step = decimal(readability);
  const exact = formula.amounts.map((amount) => over(times(amount, batch), formula.whole));
  const steps = apportion(exact.map((mass) => over(mass, step)), nearest(over(batch, step)), formula.taker);
  const grams = (count) => times(whole(count), step);
  return { batch, readability, step, exact, steps, grams, decimals: scaleOf(trimmed(readability)), printed: steps.map(grams) };
};

/** A line's steps split over the shares that a method's steps take of it; a sentence where they do not come to it. */
const split = (sheet, line, shares, name) => {
  const all = sheet.steps[line];
  const wanted = shares.map((share) => {
    if (share === "") return whole(all);
    if (share === "rest") return whole(0);
    const number = decimal(share.replace(/ .*/, ""));
    return share.endsWith("%") ? over(times(number, whole(all)), whole(100)) : over(number, sheet.step);
  });
  let parts;
  if (compare(sum(wanted), whole(all)) === 0) {
    parts = apportion(wanted, all, null);
  } else {
    const rounded = wanted.map(nearest);
    const rest = all - rounded.reduce((total, part) => total + part, 0n);
    parts = rounded.map((part, index) => (shares[index] === "rest" ? rest : part));
  }
  const stated = (index) => shares[index] !== "" && shares[index] !== "rest";
  if (all > 0n && parts.some((part, index) => stated(index) && part === 0n)) return `a part of ${name} is less than the balance can weigh`;
  const noRest = shares.length > 1 && all > 0n && parts.some((part, index) => shares[index] === "rest" && part <= 0n);
  const total = parts.reduce((one, other) => one + other, 0n);
  if (total === all && !noRest) return parts;
  const text = (steps) => massText(sheet.grams(steps), sheet.decimals);
  const come = parts.reduce((one, part) => (part > 0n ? one + part : one), 0n);
  if (come < all) return `the parts of ${name} come to ${text(come)}, less than the ${text(all)} of the sheet`;
  if (come > all) return `the parts of ${name} come to ${text(come)}, more than the ${text(all)} of the sheet`;
  return `the parts of ${name} come to all ${text(all)} of the sheet, and there is no rest of it`;
};

/** What each step of a method adds, pours and then holds, in steps of the balance; a sentence where it cannot be so divided. */
const follow = (method, sheet) => {
  const added = method.steps.map((step) => step.added.map(() => 0n));
  for (const line of sheet.steps.keys()) {
    const places = method.steps.flatMap((step, at) => step.added.flatMap((one, rank) => (one.line === line ? [[at, rank, one.share]] : [])));
    const parts = split(sheet, line, places.map(([, , share]) => share), method.formula.names[line]);
    if (typeof parts === "string") return parts;
    places.forEach(([at, rank], index) => { added[at][rank] = parts[index]; });
  }
  const held = new Map();
  return method.steps.map((step, at) => {
    const before = held.get(step.vessel) ?? 0n;
    const poured = step.poured.map(({ from }) => {
      const content = held.get(from) ?? 0n;
      held.set(from, 0n);
      return content;
    });
    const parts = [...(before > 0n ? [before] : []), ...poured, ...added[at]];
    const holds = parts.reduce((one, other) => one + other, 0n);
    held.set(step.vessel, holds);
    return { added: added[at], poured, parts, holds };
  });
};

/** The smallest batch of two digits at which a line is never rounded off by more than is allowed. */
const fineFrom = (formula, sheet, line) => {
  const others = whole(formula.amounts.length - 1);
  const steps = formula.taker === null ? whole(1) : formula.taker === line ? over(others, whole(2)) : [1n, 2n];
  const least = over(times(times(sheet.step, steps), whole(100)), formula.within);
  const grams = over(times(least, formula.whole), formula.amounts[line]);
  let unit = 1n;
  while (compare(grams, whole(100n * unit)) >= 0) unit *= 10n;
  return whole(-floor(over(times(grams, whole(-1)), whole(unit))) * unit);
};

/** Lines that the balance rounds off by more than is allowed; a dose to effect is found by measuring, not by its weight. */
const poorlyWeighed = (formula, sheet) => sheet.exact.flatMap((exact, line) => {
  if (formula.effects[line] || exact[0] <= 0n || formula.within[0] <= 0n) return [];
  const off = minus(sheet.printed[line], exact);
  const error = over(times(off[0] < 0n ? times(off, whole(-1)) : off, whole(100)), exact);
  if (compare(error, formula.within) <= 0) return [];
  const [is, makes] = [massText(exact, sheet.decimals + 2), massText(sheet.printed[line], sheet.decimals)];
  const digits = [1, 2, 3, 4, 5].find((decimals) => compare([nearest(times(error, whole(ten(decimals)))), ten(decimals)], formula.within) > 0) ?? 6;
  const what = `${formula.written[line]} is ${is} in this batch; a balance that reads ${sheet.readability}${SPACE}g makes it ${makes}, off by ${withUnit(error, digits, "%")}, where ${trimmed(fixed(formula.within, 6))}${SPACE}% is allowed.`;
  return [{ what, mend: `It is fine from a batch of ${exactText(fineFrom(formula, sheet, line))} on.` }];
});
