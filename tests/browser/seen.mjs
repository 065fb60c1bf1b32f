// What is seen on a page. Each function runs inside the browser and so stands alone.

/** Everything that `expected.mjs` has an opinion on, as it is rendered. */
export function readPage() {
  const plain = (text) => text.replace(/\s+/g, " ").trim();
  const isSeen = (element) => {
    const box = element.getBoundingClientRect();
    return box.width > 0 && box.height > 0 && element.checkVisibility({ opacityProperty: true, visibilityProperty: true });
  };
  const text = (element) => (element && isSeen(element) ? plain(element.innerText) : "");
  // The number in a cell is its summary, or all of it when there is no working. Its no-break space is kept.
  const number = (cell) => {
    if (!cell) return undefined;
    const shown = cell.querySelector("summary") ?? cell;
    return isSeen(shown) ? shown.innerText.trim() : "";
  };
  // Without what is folded away in a closed disclosure.
  const withoutWorkings = (element) => {
    if (!element) return "";
    // On a phone the cell itself has no box, so that its parts can stand in the grid of the sheet.
    if (getComputedStyle(element).display === "contents") return plain([...element.children].map(withoutWorkings).join(" "));
    if (!isSeen(element)) return "";
    const copy = element.cloneNode(true);
    for (const folded of copy.querySelectorAll("details > :not(summary)")) folded.remove();
    element.after(copy);
    const shown = plain(copy.innerText);
    copy.remove();
    return shown;
  };
  const row = (tr) => {
    const read = { head: withoutWorkings(tr.querySelector("th")) };
    const inci = tr.querySelector("td.inci");
    if (inci) read.inci = text(inci);
    for (const [key, cell] of [["percent", "td.n"], ["weight", "td.w"]]) {
      const shown = number(tr.querySelector(cell));
      if (shown !== undefined) read[key] = shown;
    }
    return read;
  };
  const finding = (item) => [...item.children].map(text).join(" | ");
  const sheet = (element) => ({
    anchor: element.id,
    title: text(element.querySelector("caption strong")),
    head: [...element.querySelectorAll(".head > div")].map(withoutWorkings).filter((part) => part !== ""),
    variant: text(element.querySelector(".variant")),
    rows: [...element.querySelectorAll("tbody tr")].map(row),
    note: text(element.querySelector(":scope > .note")),
    figures: [...element.querySelectorAll(".figures > div")].map((div) => ({
      name: text(div.querySelector("dt")),
      number: number(div.querySelector("dd.n")),
      words: text(div.querySelector("dd:not(.n)")),
    })),
    findings: [...element.querySelectorAll(".findings > li")].map(finding),
  });
  return {
    title: text(document.querySelector("main h1")),
    sheets: [...document.querySelectorAll(".sheet.formula")].map(sheet),
    numbers: [...document.querySelectorAll("main .n:not(.sheet .n)")].map(number),
    findings: [...document.querySelectorAll(".findings > li")].map(finding).sort(),
    errors: [...document.querySelectorAll(".errors li")].map(text).sort(),
    index: [...document.querySelectorAll(".contents ul > li")].map(text),
    indexLinks: [...document.querySelectorAll(".contents a.title")].map((a) => [a.getAttribute("href"), text(a)]),
  };
}

/** What is amiss in the layout: sideways scrolling, columns out of line, covered or empty numbers, missing pictures. */
export function readLayout() {
  const amiss = [];
  const root = document.scrollingElement;
  if (root.scrollWidth > root.clientWidth) amiss.push(`the page is ${root.scrollWidth} px wide in ${root.clientWidth} px`);
  for (const sheet of document.querySelectorAll(".sheet.formula")) {
    for (const column of ["td.n", "td.w"]) {
      const edges = [...sheet.querySelectorAll(column)].map((cell) => cell.getBoundingClientRect().right);
      const spread = Math.max(...edges) - Math.min(...edges);
      if (spread > 1) amiss.push(`${sheet.id}: the column ${column} is out of line by ${spread.toFixed(1)} px`);
    }
  }
  for (const cell of document.querySelectorAll(".sheet.formula :is(td.n, td.w, dd.n), main a.n")) {
    const shown = cell.querySelector("summary") ?? cell;
    shown.scrollIntoView({ block: "center", behavior: "instant" });
    const box = shown.getClientRects()[0];
    const top = box && document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    if (!top || !(shown.contains(top) || top.contains(shown))) amiss.push(`the number ${shown.innerText} is covered`);
  }
  for (const image of document.images) {
    if (image.complete && image.naturalWidth === 0) amiss.push(`the picture ${image.getAttribute("src")} is missing`);
  }
  return amiss;
}

/** The same of a page with all workings open, where one may lie over a number beside it: only that nothing sticks out. */
export function readLayoutOpened() {
  const amiss = [];
  const width = document.scrollingElement.clientWidth;
  if (document.scrollingElement.scrollWidth > width) amiss.push("the page scrolls sideways");
  for (const element of document.querySelectorAll("details > p:not(.unseen)")) {
    const box = element.getBoundingClientRect();
    if (box.left < 0 || box.right > width + 1) amiss.push(`"${element.innerText.slice(0, 40)}" is cut off`);
    else if (box.width < 120) amiss.push(`"${element.innerText.slice(0, 40)}" is only ${Math.round(box.width)} px wide`);
  }
  return amiss;
}

/** Opens every disclosure at once. */
export function openAll() {
  for (const details of document.querySelectorAll("details")) {
    details.removeAttribute("name");
    details.open = true;
  }
}

/** The place of the focus: which disclosure, if it is one, and whether it can be seen in the window. */
export function readFocus() {
  const element = document.activeElement;
  if (!element || element === document.body) return null;
  const box = element.getBoundingClientRect();
  return {
    summary: [...document.querySelectorAll("summary")].indexOf(element),
    isSkip: element.classList.contains("skip"),
    inMain: document.querySelector("main").contains(element),
    isShown: box.width > 0 && box.left >= 0 && box.right <= innerWidth + 1 && box.top < innerHeight && box.bottom > 0,
    outline: getComputedStyle(element).outlineStyle,
  };
}

/** The working of the focused disclosure, if it is open. */
export function readOpened() {
  const details = document.activeElement.closest("details");
  const folded = details?.querySelector(":scope > :not(summary)");
  return details?.open && folded.checkVisibility() ? folded.innerText.replace(/\s+/g, " ").trim() : "";
}

/** The working that a number in the prose leads to: by the fragment of the address. */
export function readTarget() {
  const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target) return { text: "", isShown: false };
  const box = target.getBoundingClientRect();
  return {
    text: target.innerText.replace(/\s+/g, " ").trim(),
    isShown: target.checkVisibility() && box.height > 0 && box.top < innerHeight && box.bottom > 0,
  };
}
