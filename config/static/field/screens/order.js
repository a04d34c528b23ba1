// One order on site: the emergency card first, then the plan with its drawings, and what the crew lead records.

import { drawing } from "../parts/drawing.js";
import { h, put } from "../parts/h.js";
import { icon } from "../parts/icons.js";
import { one, recorded } from "../parts/orders.js";
import { reader } from "../parts/reader.js";
import { capital, day, FATES } from "../parts/words.js";

const facts = (rows) => h("dl", { class: "facts" }, rows.map(([name, value]) => [h("dt", name), h("dd", value)]));

const section = (title, ...content) => h("section", { class: "section" }, h("h2", title), content);

const listed = (title, sentences, kind = "ul") => sentences.length > 0 && section(title, h(kind, sentences.map((sentence) => h("li", sentence))));

const card = ({ emergency }) => h("section", { class: "emergency-card", "aria-labelledby": "emergency" }, h("h2", { id: "emergency" }, "Emergency card"), facts(emergency));

const drawings = (order) => order.drawings.length > 0 && section("Drawings", order.drawings.map(({ title, svg }) => h("figure", drawing(svg), h("figcaption", title))));

const signals = (order) =>
  order.signals.length > 0 &&
  section(
    "Signals",
    h("ul", order.signals.map(([kind, signal, meaning]) => h("li", h("strong", signal), ` (${kind}): ${meaning}`))),
  );

const said = (what, row) => row && h("p", { class: "kept" }, `${what} ${day(row.recorded_at)}: ${FATES[row.state]}.`);

async function records(order) {
  const [briefing, felled] = await Promise.all([recorded(order, "briefing"), recorded(order, "felled")]);
  return [
    said("Briefing of", briefing),
    said("Reported down on", felled),
    h(
      "div",
      { class: "actions" },
      order.may_brief && h("a", { class: "button button--primary", href: `#/order/${order.id}/briefing` }, "Hold the briefing"),
      order.may_fell && h("a", { class: "button", href: `#/order/${order.id}/felled` }, "Report it down"),
    ),
  ];
}

export async function show(root, { id }) {
  const { park } = await reader();
  const order = await one(park.code, id);
  put(
    root,
    h("h1", order.title),
    h("p", { class: "meta" }, `Order ${order.number}${order.scheduled_for ? `, ${day(order.scheduled_for)}` : ""}`),
    card(order),
    await records(order),
    h("p", h("a", { class: "button", href: `#/map?tree=${order.tree}` }, icon("map"), "On the map")),
    listed("Not ready", order.gaps),
    order.caution && h("div", { class: "caution", role: "note" }, h("p", order.caution)),
    section("The plan", facts(order.facts)),
    drawings(order),
    listed("The plan holds only if", order.conditions),
    listed("Procedure, to be read out", order.procedure, "ol"),
    listed("The crew", order.crew.map(([name, role]) => `${name}, ${role}`)),
    signals(order),
    order.checklist.map(({ chapter, items }) => listed(capital(chapter), items.map(({ words }) => words))),
  );
}
