// The tree is down: how it went, and what was measured on the ground.

import * as drafts from "../drafts.js";
import { field, length, picks, text, ticks, whole } from "../parts/fields.js";
import { formBar, giveUp } from "../parts/form_bar.js";
import { h, put } from "../parts/h.js";
import { kept } from "../parts/kept.js";
import { one } from "../parts/orders.js";
import { reader } from "../parts/reader.js";
import { recording } from "../parts/recording.js";
import { NotAMeasure, offered, own, read } from "../parts/units.js";
import { today } from "../parts/words.js";

const route = (order) => `/order/${order.id}/felled`;

// Nothing is picked beforehand: the city learns from these, so an answer is one that somebody gave.
const fresh = (order, { tables, units }) => ({
  route: route(order),
  title: `${order.title}, down`,
  on: today(),
  how: "",
  outcome: "",
  hinge: "",
  hung_up: false,
  actual_lay_deg: "",
  diameter_cm: { text: "", unit: own(tables, "cm", units) },
  height_m: { text: "", unit: own(tables, "m", units) },
  near_miss: "",
});

const option = (value, label) => ({ value, label });

const HINGE = { held: true, broke: false, unseen: null };

function fields(state, order, { tables }) {
  const set = (name) => (value) => (state[name] = value);
  const date = h("input", { id: "on", type: "date", value: state.on, max: today(), onchange: (event) => set("on")(event.target.value) });
  return [
    field({ id: "on", label: order.felled_in_one ? "Felled on" : "Taken down on" }, date),
    picks({ id: "as_planned", legend: "It went", options: [option("yes", "As planned"), option("no", "Otherwise")], value: state.how, put: set("how"), across: true }),
    text({ id: "outcome", label: "How it went, in words", hint: "What was different: direction, hinge, hang-up.", value: state.outcome, rows: 3, most: 400, put: set("outcome") }),
    order.felled_in_one && picks({ id: "hinge_held", legend: "The hinge", options: [option("held", "Held"), option("broke", "Broke early"), option("unseen", "Not seen")], value: state.hinge, put: set("hinge"), across: true }),
    ticks({ legend: "Hang-up", options: [{ value: "hung_up", label: "It hung up on the way", ticked: state.hung_up }], put: (name, ticked) => set(name)(ticked) }),
    order.felled_in_one && whole({ id: "actual_lay_deg", label: "Bearing it fell on, from true north", unit: "°", value: state.actual_lay_deg, optional: true, put: set("actual_lay_deg") }),
    length({ id: "diameter_cm", label: "Diameter at the cut, measured", value: state.diameter_cm, units: offered(tables, "cm"), optional: true, put: set("diameter_cm") }),
    length({ id: "height_m", label: "Height, measured along the ground", value: state.height_m, units: offered(tables, "m"), optional: true, put: set("height_m") }),
    text({ id: "near_miss", label: "A near miss, if there was one", hint: "What nearly happened, and what kept it from happening. It is read to learn, not to blame.", value: state.near_miss, rows: 3, most: 1000, optional: true, put: set("near_miss") }),
  ];
}

function recordOf(state, order, tables) {
  const faults = [];
  const needs = (said, field_, message) => said || faults.push({ field: field_, message });
  const measured = (name, unit, given = state[name]) => {
    try {
      return read(tables, given, unit);
    } catch (error) {
      if (!(error instanceof NotAMeasure)) throw error;
      faults.push({ field: name, message: error.message });
      return null;
    }
  };
  needs(state.how, "as_planned", "Say whether it went as planned.");
  needs(state.outcome.trim(), "outcome", "Say in words how it went.");
  if (order.felled_in_one) needs(state.hinge, "hinge_held", "Say whether the hinge held.");
  const payload = {
    order: order.id,
    plan_digest: order.digest,
    on: state.on,
    outcome: state.outcome.trim(),
    as_planned: state.how === "yes",
    hinge_held: HINGE[state.hinge] ?? null,
    hung_up: state.hung_up,
    actual_lay_deg: measured("actual_lay_deg", "°", { text: String(state.actual_lay_deg) }),
    diameter_cm: measured("diameter_cm", "cm"),
    height_m: measured("height_m", "m"),
    near_miss: state.near_miss.trim(),
  };
  return { payload, faults };
}

export async function show(root, { id }, page) {
  const about = await reader();
  const order = await one(about.park.code, id);
  const key = `felled/${order.id}`;
  const draft = await drafts.open(key);
  const state = draft.value?.route ? draft.value : fresh(order, about);
  const record = recording({
    root,
    page,
    key,
    state,
    kind: "felled",
    tree: order.tree,
    record: () => recordOf(state, order, about.tables),
    done: () => kept(root, `${order.title}: reported down`, h("a", { class: "button button--primary", href: "#/orders" }, "Back to the orders")),
    back: `/order/${order.id}`,
  });
  put(
    root,
    h("h1", `${order.title}: it is down`),
    h("p", { class: "meta" }, "The tree leaves the inventory and the ranking, and its replacement task opens. This cannot be undone."),
    record.faults,
    h("div", { class: "walk-round" }, fields(state, order, about)),
    formBar({ said: record.said, label: "The tree is down", keep: record.keep }),
    giveUp(record.drop),
  );
  record.open(draft.errors);
}
