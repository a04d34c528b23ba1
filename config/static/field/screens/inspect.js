// Inspect: one page in the order in which one walks around a tree. It stores itself at every change.

import * as drafts from "../drafts.js";
import * as outbox from "../outbox.js";
import { assessments } from "../parts/assessments.js";
import { length, picks, text, whole } from "../parts/fields.js";
import { formBar, giveUp } from "../parts/form_bar.js";
import { h, put } from "../parts/h.js";
import { kept } from "../parts/kept.js";
import { freshLook, lookOf, picksOf, SIZES } from "../parts/look.js";
import { recordOf } from "../parts/look_out.js";
import { urgent } from "../parts/outcome.js";
import { photoStrip } from "../parts/photo_strip.js";
import { worst } from "../parts/rate.js";
import { rating } from "../parts/rating.js";
import { reader } from "../parts/reader.js";
import { recording } from "../parts/recording.js";
import { nearestTargets, targetAdder, targetsOf, targetWords } from "../parts/targets.js";
import { one, tagOf } from "../parts/trees.js";
import { offered, own, show as shown } from "../parts/units.js";
import { chapter, chapterId } from "../parts/walk.js";
import { capital } from "../parts/words.js";

const SIZE_WORDS = { dbh_cm: "Diameter at breast height", height_m: "Height", crown_spread_m: "Crown spread" };

const TARGETS_NEAR = 4;

const address = (id, corrects) => `/inspect/${encodeURIComponent(id)}${corrects ? `?corrects=${corrects}` : ""}`;

const keyOf = (id, corrects) => `inspect/${id}${corrects ? `/${corrects}` : ""}`;

// The draft under the key; of a refused record as it was sent; of a record that this one corrects; or a fresh form.
async function opened(tree, corrects, about) {
  const key = keyOf(tree.id, corrects);
  const draft = await drafts.open(key);
  const named = { tree: tree.id, corrects, route: address(tree.id, corrects), title: `${tagOf(tree)}, ${corrects ? "correction" : "inspection"}` };
  if (draft.value?.route) return { key, look: draft.value, errors: draft.errors };
  if (draft.value) return { key, look: lookOf(draft.value, named, about), errors: draft.errors };
  const before = corrects && (await outbox.get(corrects));
  return { key, look: before ? lookOf(before.payload, named, about) : freshLook(named), errors: [] };
}

// ---- The chapters ----------------------------------------------------------------------------------------------------

function targetsNear(about) {
  const near = nearestTargets(about.targets, about.tree).slice(0, TARGETS_NEAR);
  return near.length > 0 && h("div", h("h3", "What it could hit"), h("ul", near.map((target) => h("li", `${target.name}: ${targetWords(target, about)}`))));
}

function site(look, about) {
  const { tables } = about;
  return h(
    "section",
    { class: "chapter", "aria-labelledby": "site" },
    h("h2", { id: "site", tabindex: "-1" }, "Site and targets"),
    picks({ id: "level", legend: "Level of the inspection", options: tables.levels.map(({ value, label }) => ({ value: String(value), label })), value: String(look.level), put: (level) => (look.level = Number(level)) }),
    targetsNear(about),
    targetAdder(about),
  );
}

function size(name, unit, look, { tables, units, tree }) {
  look[name] ??= { text: "", unit: own(tables, unit, units) };
  const known = shown(tables, tree[name], unit, units);
  return length({ id: name, label: SIZE_WORDS[name], value: look[name], units: offered(tables, unit), optional: true, hint: known && `On record: ${known}`, put: (typed) => (look[name] = typed) });
}

function vitality(look, about) {
  const { tables } = about;
  return h(
    "section",
    { class: "chapter", "aria-labelledby": "vitality" },
    h("h2", { id: "vitality", tabindex: "-1" }, "Vitality and size"),
    picks({ id: "condition", legend: "Condition", options: tables.conditions.map((value) => ({ value, label: capital(value) })), value: look.condition, put: (word) => (look.condition = word), across: true }),
    h(
      "div",
      { class: "form__row" },
      whole({ id: "dieback_pct", label: "Crown dieback", unit: "%", value: look.dieback_pct, optional: true, put: (typed) => (look.dieback_pct = typed) }),
      SIZES.map(([name, unit]) => size(name, unit, look, about)),
    ),
  );
}

const ending = (look, key, { tables }) =>
  h(
    "section",
    { class: "chapter", "aria-labelledby": "photos" },
    h("h2", { id: "photos", tabindex: "-1" }, "Photos and notes"),
    photoStrip(key, { most: tables.bounds.photos }),
    text({ id: "note", label: "Note", value: look.note, rows: 4, most: tables.bounds.length.note, optional: true, put: (typed) => (look.note = typed) }),
  );

// To a chapter without the address changing.
function leaps({ defects }) {
  const stops = [["site", "Site"], ...defects.map(({ part, title }) => [chapterId(part), title]), ["vitality", "Vitality"], ["assessments", "Rating"], ["photos", "Photos"]];
  const leap = (id) => {
    const heading = document.getElementById(id);
    heading.scrollIntoView();
    heading.focus({ preventScroll: true });
  };
  return h("nav", { class: "leaps", "aria-label": "Chapters" }, stops.map(([id, label]) => h("button", { class: "leap", type: "button", onclick: () => leap(id) }, label)));
}

// ---- Faults, and keeping it ------------------------------------------------------------------------------------------

// "assessments.0.target" of the server is "a3.target" of the form.
function fieldOf(field, look) {
  const [, at, name] = /^assessments\.(\d+)\.(\w+)$/.exec(field) ?? [];
  return at === undefined ? field : `a${look.assessments[at]?.key}.${name}`;
}

const named = (faults, look) => faults.map(({ field, message }) => ({ field: fieldOf(field, look), message }));

function done(root, look, tree, { tables, payload }) {
  const [call] = payload.assessments.map(({ failure }) => urgent(tables, failure)).filter(Boolean);
  const ways = h(
    "div",
    { class: "actions" },
    h("a", { class: "button button--primary", href: "#/find?anew=yes" }, "Next tree"),
    h("a", { class: "button", href: "#/due" }, "What is due"),
    h("a", { class: "button", href: `#/tree/${encodeURIComponent(tree.id)}` }, `Back to ${tagOf(tree)}`),
  );
  kept(root, `${capital(look.title)}: kept`, call, ways);
}

const ratingSoFar = (look, about) => worst(about.tables, look.assessments.map((each) => picksOf(each, about).rating).filter(Boolean));

export async function show(root, { id, corrects = null }, page) {
  const read = await reader();
  const tree = await one(read.park.code, id);
  if (!tree) throw new Error("This tree is not in the park that is chosen above.");
  const { key, look, errors } = await opened(tree, corrects, read);
  const targets = await targetsOf(read.park.code);
  const soFar = h("p", { class: "keep-bar__rating" });
  const about = { ...read, look, tree, targets, changed: () => put(soFar, "So far ", rating(ratingSoFar(look, about))) };
  const form = h("div", { class: "walk-round" });
  const record = recording({
    root,
    page,
    key,
    state: look,
    kind: "inspection",
    tree: look.tree,
    record: () => recordOf(about),
    done: (payload) => done(root, look, tree, { ...about, payload }),
    back: `/tree/${encodeURIComponent(tree.id)}`,
  });

  const rated = assessments(look, about);
  about.added = rated.draw;
  const vital = vitality(look, about);
  for (const name of ["input", "change"]) vital.addEventListener(name, rated.suggestAgain);
  put(form, site(look, about), read.tables.defects.map((each) => chapter(each, look, about)), vital, rated.element, ending(look, key, about));
  put(
    root,
    h("h1", corrects ? `Correct the inspection of ${tagOf(tree)}` : `Inspect ${tagOf(tree)}`),
    h("p", { class: "meta" }, [tree.name, tree.latin !== tree.name && tree.latin].filter(Boolean).join(", "), ". ", "Rated ", rating(tree.rating)),
    corrects && h("p", "What was kept stays on record as it was; what you keep here takes its place."),
    record.faults,
    leaps(read.tables),
    form,
    formBar({ said: record.said, before: soFar, label: "Keep it", keep: record.keep }),
    giveUp(record.drop),
  );
  record.open(named(errors, look));
}
