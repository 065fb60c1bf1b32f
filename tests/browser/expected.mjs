// What the data file beside a page says should be seen on that page, as plain lists to compare with `seen.mjs`.

/** One space for any white space, and none of the backticks that the page sets as code. */
export const plain = (text) => text.replace(/\s+/g, " ").replaceAll("`", "").trim();

const joined = (...parts) => plain(parts.filter(Boolean).join(" "));

/** The text of a working when it is open. */
export const working = (number) => joined(number.working, number.source, number.address);

const line = (l) => ({
  head: joined(l.name, l.effect, l.strength, l.lot && `lot ${l.lot}`, l.parts && `in ${l.parts} parts, as the method says`, l.volume && `written as ${l.volume}`, l.own_words, l.note),
  inci: l.inci,
  percent: l.percent.text,
  weight: l.weight.text,
});

/** The only phase of a formula is not summed up: the total says it. */
const isSummedUp = (f) => f.phases.length > 1;

const phase = (p, isSummed, words) => [
  { head: joined(p.key, p.title, p.hold, p.note) },
  ...p.lines.map(line),
  ...(isSummed
    ? [
        {
          head: joined(`Phase ${p.key}`, p.vessel.text && `${words} ${p.vessel.text}`),
          percent: p.percent.text,
          weight: p.weight.text,
        },
      ]
    : []),
];

const emulsion = (e) =>
  e.no_guide
    ? [{ name: "HLB", number: "–", words: e.no_guide }]
    : [
        { name: "Required HLB", number: e.required?.text ?? "not known", words: e.required_words },
        {
          name: "HLB of emulsifiers",
          number: e.blend?.text ?? "not known",
          words: joined(e.blend_words + (e.split_words && !e.split.length ? `; ${e.split_words}` : ""), "an approximate guide only"),
        },
        ...e.split.map((s, index) => ({ name: s.name, number: s.n.text, words: index ? "" : e.split_words })),
      ];

const figures = (f) => [
  ...(f.active
    ? [
        { name: "Active matter", number: f.active.total.text, words: joined(f.active.usual, f.active.usual && f.active.source) },
        ...f.active.classes.map((c) => ({ name: c.name, number: c.n.text, words: "" })),
      ]
    : []),
  ...(f.water ? [{ name: "Water", number: f.water.text, words: "with the water that the raw materials bring" }] : []),
  ...(f.emulsion ? emulsion(f.emulsion) : []),
].map((figure) => ({ ...figure, words: plain(figure.words) }));

/** The numbers of a sheet that can be opened, in the order in which they stand. */
const openable = (f) =>
  [
    f.batch,
    ...f.phases.flatMap((p) => [
      ...p.lines.flatMap((l) => [l.percent, l.weight]),
      ...(isSummedUp(f) ? [p.vessel, p.percent, p.weight] : []),
    ]),
    f.total.percent,
    f.total.weight,
    ...(f.active ? [f.active.total, ...f.active.classes.map((c) => c.n)] : []),
    ...(f.water ? [f.water] : []),
    ...(f.emulsion && !f.emulsion.no_guide ? [f.emulsion.required, f.emulsion.blend, ...f.emulsion.split.map((s) => s.n)] : []),
  ].filter((number) => number?.working);

/** A finding under a sheet. */
const inSheet = (x) => [x.severity, joined(x.what, x.why, x.mend), joined(x.source, x.name)].join(" | ");

/** A formula sheet. */
export const sheet = (f) => ({
  anchor: f.anchor,
  title: plain(f.title),
  head: [
    // Without a title the id stands in its place.
    f.title !== f.id && f.id,
    `batch ${plain(f.batch.text)}`,
    f.use ? `${f.product}, ${f.use}` : f.product,
    f.specification && plain(f.specification),
    f.balance && `balance ${plain(f.balance)}`,
    f.version && `version ${f.version}`,
    f.date,
    `check ${f.check}`,
  ].filter(Boolean),
  variant: f.variant ? joined("Based on", f.variant.id + (f.changes ? ":" : ""), f.changes) : "",
  rows: [
    ...f.phases.flatMap((p) => phase(p, isSummedUp(f), f.vessel_words)),
    { head: "Total", percent: f.total.percent.text, weight: f.total.weight.text },
  ],
  note: plain(f.note),
  figures: figures(f),
  findings: f.findings.map(inSheet),
  workings: openable(f).map((number) => ({ text: number.text, working: working(number) })),
});

/** All findings of a page but the errors, in no order: a finding stands under its sheet, in the margin or at the end. */
export const findings = (data) =>
  data.findings
    .filter((x) => x.severity !== "error")
    .map((x) => inSheet({ ...x, mend: x.to_do }))
    .sort();

/** The errors at the top of a page, which only watching shows. */
export const errors = (data) =>
  data.findings
    .filter((x) => x.severity === "error")
    .map((x) => joined(`line ${x.place.line}`, x.what, x.why, x.to_do, x.source, x.name))
    .sort();

/** The numbers in the prose of a page, in the order in which they stand. */
export const numbers = (data) => data.numbers.map((x) => x.number);

/** What the index says of the formulas of a notebook. */
export const indexLines = (data) =>
  data.formulas.map((f) =>
    joined(f.title, f.product + (f.active ? `, active matter ${f.active.total.text}` : ""), f.id),
  );
