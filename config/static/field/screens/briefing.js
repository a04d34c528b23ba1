// The job briefing on site: every item covered, signals agreed, the gust measured, the card confirmed, then the signatures.

import * as drafts from "../drafts.js";
import { length, select, text } from "../parts/fields.js";
import { formBar, giveUp } from "../parts/form_bar.js";
import { h, put } from "../parts/h.js";
import { kept } from "../parts/kept.js";
import { one } from "../parts/orders.js";
import { reader } from "../parts/reader.js";
import { recording } from "../parts/recording.js";
import { NotAMeasure, offered, own, read } from "../parts/units.js";
import { capital } from "../parts/words.js";

const EMPTY_SIGNERS = 5;

const route = (order) => `/order/${order.id}/briefing`;

function fresh(order, { tables, units }) {
  const crew = order.crew.length ? order.crew : Array.from({ length: EMPTY_SIGNERS }, () => ["", ""]);
  return {
    route: route(order),
    title: `${order.title}, briefing`,
    checked: {},
    signals: order.signals.map((row) => [...row]),
    gust_ms: { text: "", unit: own(tables, "m/s", units) },
    weather: "",
    emergency: Object.fromEntries(order.card.map(({ key, value }) => [key, value])),
    signatures: crew.map(([named, role]) => ({ named, name: "", role })),
  };
}

function item({ key, words }, state) {
  const box = h("input", { type: "checkbox", checked: key in state.checked, onchange: () => (box.checked ? (state.checked[key] = true) : delete state.checked[key]) });
  return h("li", h("label", { class: "tick" }, box, h("span", words)));
}

const chapter = ({ chapter: title, items }, state) => h("fieldset", { class: "chapter" }, h("legend", title), h("ul", { class: "plain stack" }, items.map((each) => item(each, state))));

function signals(state, kinds) {
  const list = h("div", { class: "stack" });
  const row = (signal, at) =>
    h(
      "div",
      { class: "form__row" },
      select({ id: `signals.${at}.kind`, label: "Given by", options: kinds.map((kind) => ({ value: kind, label: capital(kind) })), value: signal[0], put: (kind) => (signal[0] = kind) }),
      text({ id: `signals.${at}.signal`, label: "Signal", value: signal[1], most: 80, put: (typed) => (signal[1] = typed) }),
      text({ id: `signals.${at}.meaning`, label: "Means", value: signal[2], most: 120, put: (typed) => (signal[2] = typed) }),
    );
  const draw = () => put(list, state.signals.map(row));
  const more = () => {
    state.signals.push([kinds[0], "", ""]);
    draw();
  };
  draw();
  return h("section", { class: "chapter" }, h("h2", "Signals agreed"), h("p", { class: "field__hint" }, "Show each one. A row that is emptied is dropped."), list, h("button", { class: "button", type: "button", onclick: more }, "Another signal"));
}

function signature(each, at, order) {
  const sign = text({ id: `signatures.${at}.name`, label: each.named ? `${each.named}, ${each.role}: sign by typing your name` : `Person ${at + 1}: sign by typing your name`, value: each.name, most: 120, put: (typed) => (each.name = typed) });
  if (each.named) return sign;
  const roles = [{ value: "", label: "Choose a role" }, ...order.roles.map((role) => ({ value: role, label: capital(role) }))];
  return h("div", { class: "form__row" }, sign, select({ id: `signatures.${at}.role`, label: "Role", options: roles, value: each.role, put: (role) => (each.role = role) }));
}

const card = (state, order) =>
  h(
    "section",
    { class: "chapter emergency-card" },
    h("h2", "Emergency card, confirmed on site"),
    order.card.map(({ key, label, hint }) => text({ id: `emergency.${key}`, label, hint, value: state.emergency[key], most: 200, put: (typed) => (state.emergency[key] = typed) })),
  );

const weather = (state, order, { tables }) =>
  h(
    "section",
    { class: "chapter" },
    h("h2", "Weather"),
    h("p", order.stop_wind),
    length({ id: "gust_ms", label: "Gust measured, held at 2 m (6 ft)", value: state.gust_ms, units: offered(tables, "m/s"), put: (typed) => (state.gust_ms = typed) }),
    text({ id: "weather", label: "Weather in words", value: state.weather, most: 200, optional: true, put: (typed) => (state.weather = typed) }),
  );

function recordOf(state, order, tables) {
  const faults = [];
  let gust_ms = null;
  try {
    gust_ms = read(tables, state.gust_ms, "m/s");
    if (gust_ms === null) faults.push({ field: "gust_ms", message: "Measure the gust at 2 m and write it down." });
  } catch (error) {
    if (!(error instanceof NotAMeasure)) throw error;
    faults.push({ field: "gust_ms", message: error.message });
  }
  const signatures = state.signatures.filter(({ name }) => name.trim()).map(({ name, role }) => ({ name: name.trim(), role }));
  const agreed = state.signals.filter(([, signal, meaning]) => signal.trim() || meaning.trim());
  const { weather: words, emergency } = state;
  return { faults, payload: { order: order.id, plan: order.plan, digest: order.digest, checked: Object.keys(state.checked), signals: agreed, gust_ms, weather: words.trim(), emergency, signatures } };
}

export async function show(root, { id }, page) {
  const about = await reader();
  const order = await one(about.park.code, id);
  const key = `briefing/${order.id}`;
  const draft = await drafts.open(key);
  const state = draft.value?.route ? draft.value : fresh(order, about);
  const form = h("div", { class: "walk-round" });
  const record = recording({
    root,
    page,
    key,
    state,
    kind: "briefing",
    tree: order.tree,
    record: () => recordOf(state, order, about.tables),
    done: () => kept(root, "Briefing kept", h("a", { class: "button button--primary", href: `#/order/${order.id}` }, "Back to the order")),
    back: `/order/${order.id}`,
  });
  put(
    form,
    order.checklist.map((each) => chapter(each, state)),
    signals(state, order.signal_kinds),
    weather(state, order, about),
    card(state, order),
    h("section", { class: "chapter" }, h("h2", "Signatures"), h("p", { class: "field__hint" }, "Another plan, crew or method voids them."), state.signatures.map((each, at) => signature(each, at, order))),
  );
  put(
    root,
    h("h1", `Job briefing, ${order.title}`),
    h("p", { class: "meta" }, "Every item is covered before anybody signs."),
    record.faults,
    form,
    formBar({ said: record.said, label: "Keep the briefing", keep: record.keep }),
    giveUp(record.drop),
  );
  record.open(draft.errors);
}
