// The search of a collection. Everything is in memory: the data files beside this one hold the texts, and nothing is asked of anybody.
//
// How hits are ranked: a page is shown when each word looked for is found on it; when no page has all of them, those with the most.
// A word counts 100 in the title, 60 in a heading, the name of a formula or an INCI name on the page of its raw material, 50 as a raw
// material that a formula holds or its product type, 10 in the text, all of it when it is the very word, seven tenths when it only begins so, three tenths when letters were mended. Of a page the
// best place of each word counts. Equal pages stay in the order of the collection.

"use strict";

const TITLE = 100, HEADING = 60, NAME = 50, TEXT = 10;
const EXACT = 10, BEGINS = 7, MENDED = 3;
const MOST_PAGES = 30, MOST_PARTS = 3;

/** Letters that are no letter with a mark, which Unicode does not take apart. */
const LETTERS = { "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "ł": "l", "þ": "th", "ı": "i", "ħ": "h", "ŋ": "n", "ς": "σ" };

/** What spellings have in common: no capitals, no marks on letters, no ligatures. */
function folded(text) {
  return text
    .normalize("NFKD")
    .toLowerCase()
    .normalize("NFKD")
    .replace(/[\p{Mn}\u00ad'’]/gu, "")
    .replace(/[ßæœøđðłþıħŋς]/g, (letter) => LETTERS[letter]);
}

/** The words of a text. Full stops inside an abbreviation fall away: "q.s." is one word. */
function wordsOf(text) {
  const plain = folded(text).replace(/(?<![\p{L}\p{N}])(?:\p{L}\.)+\p{L}(?![\p{L}\p{N}])/gu, (short) => short.replaceAll(".", ""));
  return plain.match(/[\p{L}\p{N}]+/gu) ?? [];
}

/** How many letters are wrong, left out, too many, or two of them swapped, at most `most`; one more when there are more. With
 * `begins`, as against the nearest beginning of the word. */
function slips(wanted, word, most, begins) {
  if (wanted.length - word.length > most || (!begins && word.length - wanted.length > most)) return most + 1;
  let before = [], last = [], row = Array.from({ length: word.length + 1 }, (_, index) => index);
  for (let i = 1; i <= wanted.length; i += 1) {
    [before, last, row] = [last, row, [i]];
    for (let j = 1; j <= word.length; j += 1) {
      const same = wanted[i - 1] === word[j - 1];
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (same ? 0 : 1));
      if (i > 1 && j > 1 && wanted[i - 1] === word[j - 2] && wanted[i - 2] === word[j - 1]) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    if (Math.min(...row) > most) return most + 1;
  }
  return begins ? Math.min(...row) : row[word.length];
}

/** How many slips are forgiven in a word: one from four letters on, two from eight. Numbers are meant as they are. */
const forgiven = (word) => (/\p{N}/u.test(word) || word.length < 4 ? 0 : word.length < 8 ? 1 : 2);

/** All words of the collection, each with the places it stands in. */
function indexOf(pages) {
  const index = new Map();
  const parts = [];
  const put = (text, place, weight) => {
    for (const word of wordsOf(text)) {
      let places = index.get(word);
      if (!places) index.set(word, (places = new Map()));
      if ((places.get(place) ?? 0) < weight) places.set(place, weight);
    }
  };
  const materials = new Map(pages.filter((page) => page.id).map((page) => [page.id, [page.id, page.title, ...(page.parts[0].names ?? [])].join(" ")]));
  pages.forEach((page, number) => {
    page.parts.forEach((part, place) => {
      const id = parts.push({ page: number, part }) - 1;
      if (place === 0) put(page.title, id, TITLE);
      if (page.id) put(page.id, id, HEADING);
      put(part.heading, id, HEADING);
      put(part.text ?? "", id, TEXT);
      put(part.product ?? "", id, NAME);
      put((part.names ?? []).join(" "), id, page.id ? HEADING : NAME);
      for (const held of part.holds ?? []) put(materials.get(held) ?? held, id, NAME);
    });
  });
  return { pages, parts, index, words: [...index.keys()].sort() };
}

/** The words of the collection that a wanted word may mean, with how well they fit. Letters are mended only where no word begins so. */
function meant(wanted, { words }) {
  const found = new Map();
  for (const word of words) if (word.startsWith(wanted)) found.set(word, word === wanted ? EXACT : BEGINS);
  const most = forgiven(wanted);
  if (found.size > 0 || most === 0) return found;
  let least = most;
  for (const word of words) {
    if (forgiven(word) === 0) continue;
    const whole = slips(wanted, word, least, false);
    const distance = Math.min(whole, wanted.length >= 5 ? slips(wanted, word, least, true) : whole);
    if (distance > least) continue;
    // Only the nearest words count: who slips once did not slip twice.
    if (distance < least) found.clear();
    least = distance;
    found.set(word, MENDED);
  }
  return found;
}

/** The two words of the collection that a word is made of, or the word itself when it is known or can be mended. */
function partedOf(word, collection) {
  if (meant(word, collection).size > 0) return [word];
  for (let at = 2; at <= word.length - 2; at += 1) {
    const halves = [word.slice(0, at), word.slice(at)];
    if (halves.every((half) => collection.index.has(half))) return halves;
  }
  return [word];
}

/** The wanted words. Two that are one in the collection are taken together, and one that is two there is taken apart. */
function wantedOf(text, collection) {
  const { index } = collection;
  const words = wordsOf(text).flatMap((word) => partedOf(word, collection));
  const wanted = [];
  for (let at = 0; at < words.length; at += 1) {
    const joined = words[at] + (words[at + 1] ?? "");
    const isOne = at + 1 < words.length && index.has(joined) && !(index.has(words[at]) && index.has(words[at + 1]));
    wanted.push(isOne ? joined : words[at]);
    if (isOne) at += 1;
  }
  // A single letter says nothing beside other words.
  return wanted.some((word) => word.length > 1) ? wanted.filter((word) => word.length > 1) : wanted;
}

/** What is found, best first: pages with their parts. */
function find(text, collection) {
  const wanted = wantedOf(text, collection);
  const pages = new Map();
  const marked = new Set();
  const mended = new Set();
  wanted.forEach((word, number) => {
    for (const [known, fit] of meant(word, collection)) {
      marked.add(known);
      if (fit === MENDED) mended.add(known);
      for (const [place, weight] of collection.index.get(known)) {
        const { page } = collection.parts[place];
        if (!pages.has(page)) pages.set(page, { page, best: [], places: new Map() });
        const hit = pages.get(page);
        hit.best[number] = Math.max(hit.best[number] ?? 0, weight * fit);
        const scores = hit.places.get(place) ?? [];
        scores[number] = Math.max(scores[number] ?? 0, weight * fit);
        hit.places.set(place, scores);
      }
    }
  });
  const sum = (scores) => scores.reduce((all, one) => all + one, 0);
  const count = (hit) => hit.best.filter(Boolean).length;
  const hits = [...pages.values()];
  const most = Math.max(0, ...hits.map(count));
  const found = hits.filter((hit) => count(hit) === most).sort((one, other) => sum(other.best) - sum(one.best) || one.page - other.page);
  return { hits: found, marked, mended, isAll: most === wanted.length, wanted };
}

/** The parts of a page to show: those that have the most of the words, best first. */
function partsOf(hit, collection) {
  const places = [...hit.places].map(([place, scores]) => ({
    part: collection.parts[place].part,
    place,
    n: scores.filter(Boolean).length,
    score: scores.reduce((all, one) => all + one, 0),
  }));
  return places.sort((one, other) => other.n - one.n || other.score - one.score || one.place - other.place).slice(0, MOST_PARTS);
}

/** A text with the words that were found set off: around the first of them, when it is long. */
function withMarks(text, marked) {
  const box = document.createDocumentFragment();
  const pieces = text.match(/[\p{L}\p{N}\p{M}.'’]*[\p{L}\p{N}\p{M}]|[^\p{L}\p{N}]+|./gsu) ?? [];
  const isMarked = (piece) => wordsOf(piece).some((word) => marked.has(word));
  const first = pieces.findIndex(isMarked);
  const from = text.length > 160 && first > 16 ? first - 12 : 0;
  let length = 0;
  if (from > 0) box.append("… ");
  for (const piece of pieces.slice(from)) {
    if (length > 150) {
      box.append(" …");
      break;
    }
    length += piece.length;
    if (!isMarked(piece)) box.append(piece);
    else box.append(Object.assign(document.createElement("mark"), { textContent: piece }));
  }
  return box;
}

/** What is said of a part below its link. */
function saidOf(part, page, collection, marked) {
  const names = [part.product, ...(part.names ?? [])];
  for (const held of part.holds ?? []) {
    const material = collection.pages.find((other) => other.id === held);
    const words = [held, material?.title ?? "", ...(material?.parts[0].names ?? [])].join(" ");
    if (wordsOf(words).some((word) => marked.has(word))) names.push(`holds ${material?.title ?? held}`);
  }
  const said = names.filter(Boolean).join(", ");
  return page.id ? [said, part.text].filter(Boolean).join("; ") : part.text || said;
}

/** One result: the page, and its parts below. */
function resultOf(hit, collection, marked) {
  const page = collection.pages[hit.page];
  const item = document.createElement("li");
  const link = (href, text) => {
    const a = Object.assign(document.createElement("a"), { href });
    a.append(withMarks(text, marked));
    return a;
  };
  item.append(link(page.href, page.title));
  if (page.id) item.append(" ", Object.assign(document.createElement("small"), { textContent: page.kind }));
  const list = document.createElement("ul");
  for (const { part } of partsOf(hit, collection)) {
    const words = saidOf(part, page, collection, marked);
    if (!part.anchor && !words) continue;
    const row = document.createElement("li");
    if (part.anchor) row.append(link(`${page.href}#${encodeURIComponent(part.anchor)}`, part.heading), " ");
    const said = document.createElement("span");
    said.append(withMarks(words, marked));
    row.append(said);
    list.append(row);
  }
  if (list.children.length > 0) item.append(list);
  return item;
}

/** What is told about the results, on the page and to those who hear it. */
function told({ hits, isAll, mended, wanted }) {
  if (wanted.length === 0) return "";
  if (hits.length === 0) return "Nothing is found. Another word for it may be in the lists below.";
  const pages = `${hits.length} ${hits.length === 1 ? "page" : "pages"}${hits.length > MOST_PAGES ? `, the first ${MOST_PAGES} of them` : ""}`;
  const some = isAll ? "" : " No page has all of these words.";
  const taken = mended.size > 0 ? ` Taken for: ${[...mended].slice(0, 6).join(", ")}.` : "";
  return `${pages}.${some}${taken}`;
}

function begin() {
  const collection = indexOf(self.searched ?? []);
  const [form, field, status, results] = ["search", "words", "told", "results"].map((id) => document.getElementById(id));
  const show = () => {
    const found = find(field.value, collection);
    results.replaceChildren(...found.hits.slice(0, MOST_PAGES).map((hit) => resultOf(hit, collection, found.marked)));
    status.textContent = told(found);
    // The words stay in the address, so that going back finds them again.
    const address = new URL(location.href);
    if (field.value.trim()) address.searchParams.set("words", field.value);
    else address.searchParams.delete("words");
    try {
      history.replaceState(null, "", address);
    } catch {
      // Some browsers allow no other address for a page that was opened from a disk.
    }
  };
  let waiting;
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(show, 120);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    clearTimeout(waiting);
    show();
    results.querySelector("a")?.focus();
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
    const links = [...results.querySelectorAll("a")];
    const at = links.indexOf(document.activeElement);
    if (at < 0 && document.activeElement !== field) return;
    if (event.key === "ArrowDown" && links.length > 0) links[Math.min(at + 1, links.length - 1)].focus();
    else if (event.key === "ArrowUp" && at >= 0) (links[at - 1] ?? field).focus();
    else if (event.key === "Escape") {
      field.value = "";
      show();
      field.focus();
    } else return;
    event.preventDefault();
  });
  field.value = new URLSearchParams(location.search).get("words") ?? "";
  form.hidden = false;
  document.getElementById("without").hidden = true;
  if (field.value) show();
}

if (typeof document === "object") document.addEventListener("DOMContentLoaded", begin);
