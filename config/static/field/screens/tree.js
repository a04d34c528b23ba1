// One tree: how it is rated and why, when it was looked at, what is asked, due and open; and what can be done here.

import { on } from "../bus.js";
import * as drafts from "../drafts.js";
import * as outbox from "../outbox.js";
import * as packs from "../packs.js";
import { h, put } from "../parts/h.js";
import { icon } from "../parts/icons.js";
import * as place from "../parts/place.js";
import { imminent, rating, ratingPath } from "../parts/rating.js";
import { reader } from "../parts/reader.js";
import { bearing, distanceM } from "../parts/geo.js";
import { dueWords } from "../parts/tree_list.js";
import { storms } from "../parts/storms.js";
import { one, placed, tagOf } from "../parts/trees.js";
import { show as shown } from "../parts/units.js";
import { capital, day, FATES } from "../parts/words.js";

const ofTree = async (code, part, tree) => {
  const rows = await packs.part(code, part);
  return Array.isArray(rows) ? rows.filter((row) => row.tree === tree.id) : [];
};

const facts = (rows) => h("dl", { class: "facts" }, rows.filter(([, value]) => value).map(([name, value]) => [h("dt", name), h("dd", value)]));

function rated(tree) {
  const { failure, impact, failure_and_impact: likelihood, consequences, rating: word } = tree;
  return h(
    "section",
    { class: "section", "aria-labelledby": "rated" },
    h("h2", { id: "rated" }, "Rating"),
    h("p", { class: "cluster" }, rating(word, { large: true }), tree.imminent && imminent()),
    tree.reason && h("p", capital(tree.reason)),
    failure && h("details", h("summary", { class: "button toggle" }, "How it came about"), ratingPath({ failure, impact, likelihood, consequences, rating: word })),
    facts([
      ["Last look", tree.inspected_on ? day(tree.inspected_on) : "none on record"],
      ["Next look", dueWords(tree)],
    ]),
  );
}

function measured(tree, { tables, units }) {
  return facts([
    ["Species", [tree.name, tree.latin !== tree.name && h("span", { class: "botanical" }, ` ${tree.latin}`)]],
    ["Condition", capital(tree.condition ?? "")],
    ["Diameter", shown(tables, tree.dbh_cm, "cm", units)],
    ["Height", shown(tables, tree.height_m, "m", units)],
    ["Crown spread", shown(tables, tree.crown_spread_m, "m", units)],
  ]);
}

function ownLook({ id, recorded_at, state, number, tree }) {
  const correct = h("a", { class: "button", href: `#/inspect/${encodeURIComponent(tree)}?corrects=${id}` }, "Correct it");
  return h("li", { class: "field-record" }, h("p", `Your look of ${day(recorded_at)}, ${new Date(recorded_at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" })}: ${FATES[state]}${number ? ` as ${number}` : ""}.`), (state === "sent" || state === "waiting") && correct);
}

async function ownLooks(tree) {
  const records = (await outbox.list({ mine: true })).filter(({ kind, tree: of }) => kind === "inspection" && String(of) === String(tree.id));
  // A look that a later one corrects is not offered again.
  const corrected = new Set(records.map(({ payload }) => payload.supersedes));
  const now = records.filter(({ id }) => !corrected.has(id));
  return now.length > 0 && h("section", { class: "section" }, h("h2", "Looks from this tablet"), h("ul", { class: "plain field-records" }, now.map(ownLook)));
}

const listed = (title, rows, words) => rows.length > 0 && h("section", { class: "section" }, h("h2", title), h("ul", { class: "plain field-records" }, rows.map((row) => h("li", { class: "field-record" }, words(row)))));

async function open(code, tree) {
  const [concerns, looks, work] = await Promise.all(["concerns", "looks", "work"].map((part) => ofTree(code, part, tree)));
  return [
    listed("Looks asked for", looks, ({ due_on, why, level }) => `By ${day(due_on)}, level ${level}: ${why}`),
    listed("Open concerns", concerns, ({ reported_on, text }) => `${day(reported_on)}: ${text}`),
    listed("Work to be done", work, ({ what, due_on }) => [what, due_on && `by ${day(due_on)}`].filter(Boolean).join(", ")),
  ];
}

function whereabouts(tree, { tables, units }) {
  if (!placed(tree)) return h("p", { class: "muted" }, "Its position is not known.");
  const fix = place.now();
  const far = fix && `${shown(tables, distanceM(fix, tree), "m", units)} ${bearing(fix, tree)} of where you stand. ${place.words(fix)}`;
  return h("div", { class: "cluster" }, h("a", { class: "button", href: `#/map?tree=${encodeURIComponent(tree.id)}` }, icon("map"), "On the map"), far && h("span", far));
}

async function inspect(tree) {
  const begun = await drafts.load(`inspect/${tree.id}`);
  const label = begun ? "Go on with the inspection" : "Inspect";
  return h("a", { class: "button button--primary", href: `#/inspect/${encodeURIComponent(tree.id)}` }, label);
}

async function stormFinds(tree, park) {
  const { events } = await storms(park.code);
  return events.map(({ id, name }) => h("a", { class: "button", href: `#/storm/${id}/find?tree=${encodeURIComponent(tagOf(tree))}` }, `Find of ${name}`));
}

async function actions(tree, { may, park }) {
  const inspects = may.includes("record an inspection") && (await inspect(tree));
  const finds = may.includes("record what a storm did") && tree.tag ? await stormFinds(tree, park) : [];
  return (inspects || finds.length > 0) && h("div", { class: "actions" }, inspects, finds);
}

export async function show(root, { id }, page) {
  const about = await reader();
  const tree = await one(about.park.code, id);
  if (!tree) throw new Error("This tree is not in the park that is chosen above.");
  const draw = async () =>
    put(
      root,
      h("h1", { tabindex: "-1" }, tagOf(tree)),
      h("p", { class: "meta" }, tree.name, tree.found && ", found in the field and not in the inventory's pack yet"),
      await actions(tree, about),
      whereabouts(tree, about),
      rated(tree),
      await open(about.park.code, tree),
      await ownLooks(tree),
      h("section", { class: "section" }, h("h2", "The tree"), measured(tree, about)),
    );
  await draw();
  page.leaving(on("place", draw));
}
