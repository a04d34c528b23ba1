// The quick sheet: one thing that the storm did, in the order in which it matters.

import * as drafts from "../drafts.js";
import { length, picks, text, ticks } from "../parts/fields.js";
import { formBar, giveUp } from "../parts/form_bar.js";
import { h, put } from "../parts/h.js";
import { kept } from "../parts/kept.js";
import { photoStrip } from "../parts/photo_strip.js";
import * as place from "../parts/place.js";
import { reader } from "../parts/reader.js";
import { recording } from "../parts/recording.js";
import { caution, cautionsOf, storms } from "../parts/storms.js";
import { all, tagOf } from "../parts/trees.js";
import { NotAMeasure, offered, own, read } from "../parts/units.js";

const fresh = (route, tag) => ({ route, title: "a find of the storm", kind: "", occupancy: "", wires: false, emergency_way: false, tag, place: "", lon: null, lat: null, size_cm: null, note: "", seen_at: null });

const byTag = (trees, tag) => trees.find((tree) => tagOf(tree).toLowerCase() === tag.trim().toLowerCase()) ?? null;

function faultsOf(state, tree) {
  const faults = [];
  const miss = (field, message) => faults.push({ field, message });
  if (!state.kind) miss("kind", "Pick what it is.");
  if (!state.occupancy) miss("occupancy", "Pick how often people are there.");
  if (state.tag.trim() && !tree) miss("tag", `No tree of this park has the tag “${state.tag.trim()}”; mend it, or leave it empty and say the place in words.`);
  if (!tree && !state.place.trim()) miss("place", "Say where it is: the tree's tag, or the place in words.");
  return faults;
}

function recordOf(state, event, { park, tables }, trees) {
  const tree = state.tag.trim() ? byTag(trees, state.tag) : null;
  const faults = faultsOf(state, tree);
  let size_cm = null;
  try {
    size_cm = read(tables, state.size_cm, "cm");
  } catch (error) {
    if (!(error instanceof NotAMeasure)) throw error;
    faults.push({ field: "size_cm", message: error.message });
  }
  const [least, most] = tables.storm.bounds.size_cm;
  if (size_cm !== null && (size_cm < least || size_cm > most)) faults.push({ field: "size_cm", message: `A diameter is ${least} to ${most} cm.` });
  state.title = tree ? tagOf(tree) : state.place.trim();
  state.seen_at ??= new Date().toISOString();
  const { kind, occupancy, wires, emergency_way, lon, lat, note, seen_at } = state;
  const payload = { event: event.id, kind, occupancy, wires, emergency_way, tree: tree?.id ?? null, park: park.code, place: state.place.trim(), lon, lat, size_cm, note: note.trim(), seen_at };
  return { payload, faults };
}

function position(state, changed) {
  const set = ({ lon, lat }) => {
    Object.assign(state, { lon, lat });
    changed();
  };
  return h("div", { class: "field", "data-field": "position" }, place.placeButton("It is where I stand", { then: set }));
}

function flags(state, changed) {
  const options = [
    { value: "wires", label: "Wires are down, touched or pulled tight", ticked: state.wires },
    { value: "emergency_way", label: "It blocks a way that ambulances or fire engines need", ticked: state.emergency_way },
  ];
  return ticks({ legend: "Wires and ways", options, put: (name, ticked) => ((state[name] = ticked), changed()) });
}

async function theEvent(code, id) {
  const { events } = await storms(code);
  const event = events.find((each) => String(each.id) === String(id));
  if (!event) throw new Error("This storm is not open over the park that is chosen above; refresh the park while there is signal.");
  return event;
}

export async function show(root, { event: id, tree: tag = "" }, page) {
  const about = await reader();
  const { tables, units } = about;
  const event = await theEvent(about.park.code, id);
  const trees = await all(about.park.code);
  const route = `/storm/${event.id}/find`;
  const key = `storm-find/${event.id}`;
  const draft = await drafts.open(key);
  const state = draft.value?.route ? draft.value : fresh(route, tag);
  if (!state.tag) state.tag = tag;
  state.size_cm ??= { text: "", unit: own(tables, "cm", units) };
  const form = h("div", { class: "walk-round" });
  const warned = h("div", { role: "status" });
  const warn = () => put(warned, cautionsOf(tables, state).map(caution));
  const changed = () => form.dispatchEvent(new Event("change", { bubbles: true }));
  const done = () => {
    const again = h("a", { class: "button button--primary", href: `#${route}?again=${Date.now()}` }, "Another find");
    const list = h("a", { class: "button", href: "#/storm" }, "To the list");
    kept(root, `Find at ${state.title}`, cautionsOf(tables, state).map(caution), h("div", { class: "actions" }, again, list));
  };
  const record = recording({ root, page, key, state, kind: "storm_find", record: () => recordOf(state, event, about, trees), done, back: "/storm" });
  put(
    form,
    picks({ id: "kind", legend: "What it is", options: tables.storm.kinds, value: state.kind, across: true, put: (kind) => ((state.kind = kind), warn()) }),
    flags(state, warn),
    warned,
    picks({ id: "occupancy", legend: "How often people are there", options: tables.storm.occupancy, value: state.occupancy, put: (use) => (state.occupancy = use) }),
    text({ id: "tag", label: "Tag of the tree", value: state.tag, most: 40, optional: true, put: (typed) => (state.tag = typed) }),
    text({ id: "place", label: "Place in words", value: state.place, most: tables.storm.bounds.place, hint: "Where there is no tree of ours, or no tag to read.", optional: true, put: (typed) => (state.place = typed) }),
    position(state, changed),
    length({ id: "size_cm", label: "Diameter where it broke", value: state.size_cm, units: offered(tables, "cm"), optional: true, put: (typed) => (state.size_cm = typed) }),
    text({ id: "note", label: "Note", value: state.note, rows: 3, most: tables.storm.bounds.note, optional: true, put: (typed) => (state.note = typed) }),
    h("section", { class: "section", "aria-labelledby": "photos" }, h("h2", { id: "photos" }, "Photos"), photoStrip(key, { most: tables.bounds.photos })),
  );
  put(root, h("h1", "What did it do?"), h("p", { class: "meta" }, `${event.name}, ${about.park.name}. Keep your distance first; then write.`), caution(tables.storm.near_wires), record.faults, form, formBar({ said: record.said, label: "Keep it", keep: record.keep }), giveUp(record.drop));
  warn();
  record.open(draft.errors);
}
