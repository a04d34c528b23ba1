// A tree that is not in the pack: where it stands, what it is, how thick; then it is inspected at once.

import * as drafts from "../drafts.js";
import { length, text } from "../parts/fields.js";
import { formBar, giveUp } from "../parts/form_bar.js";
import { go } from "../parts/go.js";
import { h, put } from "../parts/h.js";
import { parkMap } from "../parts/map.js";
import * as place from "../parts/place.js";
import { reader } from "../parts/reader.js";
import { recording } from "../parts/recording.js";
import { speciesPicker } from "../parts/species.js";
import { all } from "../parts/trees.js";
import { NotAMeasure, offered, own, read } from "../parts/units.js";
import { outlineOf } from "./map.js";

const KEY = "new-tree";
const ROUTE = "/new";

const fresh = () => ({ route: ROUTE, title: "a tree that is not here yet", lon: null, lat: null, accuracy_m: null, species: null, species_said: "", dbh_cm: null, note: "" });

const degrees = ({ lat, lon }) => `${lat.toFixed(6)}, ${lon.toFixed(6)}`;

function positioned(state, map, changed) {
  const said = h("p", { role: "status" });
  const say = () => {
    const how = state.accuracy_m ? `, as the tablet stood, within ${Math.max(1, Math.round(state.accuracy_m))} m` : ", as put on the map";
    put(said, state.lon === null ? "No position yet." : `The tree stands at ${degrees(state)}${how}.`);
  };
  const set = ({ lon, lat, accuracy_m = null }) => {
    Object.assign(state, { lon, lat, accuracy_m });
    map.redraw();
    say();
    changed();
  };
  const stand = place.placeButton("It stands where I stand", { then: (fix) => (map.show(fix), set(fix)) });
  const cross = h("button", { class: "button", type: "button", onclick: () => set(map.centre()) }, "It stands at the cross");
  say();
  return h("div", { class: "field stack", "data-field": "position" }, map.element, h("p", { class: "field__hint" }, "Move the map until the cross lies on the tree, or stand at its stem."), h("div", { class: "cluster" }, cross, stand), said);
}

function recordOf(state, { park, tables }) {
  const faults = [];
  if (state.lon === null) faults.push({ field: "position", message: "Put the tree on the map, or give the place where you stand." });
  let dbh_cm = null;
  try {
    dbh_cm = read(tables, state.dbh_cm, "cm");
  } catch (error) {
    if (!(error instanceof NotAMeasure)) throw error;
    faults.push({ field: "dbh_cm", message: error.message });
  }
  const { lon, lat, accuracy_m, species, note } = state;
  return { payload: { park: park.code, lon, lat, accuracy_m, species, dbh_cm, note: note.trim() }, faults };
}

export async function show(root, params, page) {
  const about = await reader();
  const { tables, units, park } = about;
  const draft = await drafts.open(KEY);
  const state = draft.value?.route ? draft.value : fresh();
  state.dbh_cm ??= { text: "", unit: own(tables, "cm", units) };
  const form = h("div", { class: "walk-round" });
  const changed = () => form.dispatchEvent(new Event("change", { bubbles: true }));
  const map = parkMap({ trees: await all(park.code), outline: await outlineOf(park.code), first: state.lon === null ? place.now() : state, cross: true, mark: () => (state.lon === null ? null : state) });
  const record = recording({
    root,
    page,
    key: KEY,
    state,
    kind: "tree",
    record: () => recordOf(state, about),
    done: (payload, id) => go(`/inspect/${id}`, { replace: true }),
    back: "/find",
  });
  put(
    form,
    positioned(state, map, changed),
    speciesPicker(state, about, changed),
    length({ id: "dbh_cm", label: "Diameter at breast height", value: state.dbh_cm, units: offered(tables, "cm"), optional: true, put: (typed) => (state.dbh_cm = typed) }),
    text({ id: "note", label: "Note", value: state.note, rows: 3, most: tables.bounds.length.note, optional: true, put: (typed) => (state.note = typed) }),
  );
  put(
    root,
    h("h1", "A tree that is not here yet"),
    h("p", { class: "meta" }, `It is added to ${park.name}; the office gives it its tag.`),
    record.faults,
    form,
    formBar({ said: record.said, label: "Keep it and inspect it", keep: record.keep }),
    giveUp(record.drop),
  );
  record.open(draft.errors);
}
