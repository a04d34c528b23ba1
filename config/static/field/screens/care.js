// The round of the young trees: what each asks for, on a small map and as a list, one tap a tree; more beneath it.

import { whileShown } from "../bus.js";
import * as outbox from "../outbox.js";
import * as packs from "../packs.js";
import { h, put } from "../parts/h.js";
import { parkMap } from "../parts/map.js";
import { current } from "../parts/park.js";
import { NotReady } from "../parts/reader.js";
import { capital, day, FATES, today } from "../parts/words.js";

const plantings = async (code) => (await packs.part(code, "plantings")) ?? [];

export async function any() {
  const park = await current();
  return park !== null && (await plantings(park.code)).length > 0;
}

// What this tablet recorded since the pack was taken answers what the pack still asks for.
async function visited(pack) {
  const rows = await outbox.list({ mine: true });
  const fresh = rows.filter(({ kind, state, recorded_at }) => kind === "care_visit" && (state !== "sent" || Date.parse(recorded_at) > pack.refreshed_at));
  return new Map(fresh.map((row) => [row.payload.planting, row]));
}

const dueLine = ({ words, last_day, litres }) =>
  h("li", { class: last_day < today() && "overdue" }, `${capital(words)}${litres ? `, about ${Math.round(litres)} l` : ""}; ${last_day < today() ? "overdue since" : "by"} ${day(last_day)}`);

// A double tap finds the buttons disabled; after a failure they serve again.
function recorder(planting, buttons, said) {
  return async (payload) => {
    for (const button of buttons()) button.disabled = true;
    try {
      await outbox.add({ kind: "care_visit", payload: { planting: planting.id, alive: true, ...payload }, tree: planting.tree, title: `${planting.tag}, care visit` });
    } catch (error) {
      put(said, error.message);
      for (const button of buttons()) button.disabled = false;
    }
  };
}

const button = (label, tag, act, kind = "") => h("button", { type: "button", class: `button ${kind}`, "aria-label": `${label}: ${tag}`, onclick: act }, label);

function details(tag, record) {
  const note = h("input", { type: "text", maxlength: 300, "aria-label": `Note on ${tag}` });
  const told = () => (note.value.trim() ? { note: note.value.trim() } : {});
  return h(
    "details",
    h("summary", { class: "toggle" }, "More"),
    h("div", { class: "field" }, h("p", "Note"), note),
    h(
      "div",
      { class: "cluster" },
      button("Ball saturated, not watered", tag, () => record({ saturated: true, ...told() })),
      button("Stakes taken off", tag, () => record({ stakes_off: true, ...told() })),
      button("Looks fine, with the note", tag, () => record(told())),
      button("Found dead", tag, () => record({ alive: false, ...told() }), "button--danger"),
    ),
  );
}

function card(planting, visit) {
  const item = h("li", { class: "field-record", "data-planting": String(planting.id) });
  const said = h("p", { role: "status" });
  const record = recorder(planting, () => item.querySelectorAll("button"), said);
  const litres = planting.dues.find(({ kind }) => kind === "water")?.litres;
  const one = litres
    ? button(`Watered, ${Math.round(litres)} l`, planting.tag, () => record({ watered_l: litres }), "button--primary")
    : button("Looks fine", planting.tag, () => record({}), "button--primary");
  put(
    item,
    h("h2", { tabindex: "-1" }, planting.tag),
    h("p", planting.name),
    planting.dues.length ? h("ul", planting.dues.map(dueLine)) : h("p", { class: "muted" }, "Asks for nothing this week."),
    visit ? h("p", h("strong", "Done."), ` ${capital(FATES[visit.state] ?? "")}.`) : [h("div", { class: "cluster" }, one), details(planting.tag, record)],
    said,
  );
  return item;
}

const look = (planting, visit) => JSON.stringify([planting, visit?.state ?? ""]);

export async function show(root, params, page) {
  const park = await current();
  if (!park) throw new NotReady("No park is on this tablet yet. Take one along while there is signal.");
  const rows = await plantings(park.code);
  const count = h("p", { role: "status" });
  const list = h("ul", { class: "plain field-records" });
  const cards = new Map();
  const trees = rows.filter(({ lon }) => lon !== null).map((row) => ({ ...row, status: "standing" }));
  const outline = (await packs.part(park.code, "park"))?.boundary ?? null;
  const pick = ({ id }) => list.querySelector(`[data-planting="${id}"] h2`)?.focus();
  const map = trees.length ? parkMap({ trees, outline, pick }).element : null;
  put(root, h("h1", `Young trees, ${park.name}`), count, map, rows.length ? list : h("p", "No young tree of this park is in care."));
  await whileShown(root, ["outbox"], async () => {
    const done = await visited(park);
    put(count, `${rows.filter(({ id }) => done.has(id)).length} of ${rows.length} seen on this round`);
    for (const row of rows) {
      const visit = done.get(row.id);
      const before = cards.get(row.id);
      if (before?.look === look(row, visit)) continue;
      const fresh = card(row, visit);
      if (before) before.item.replaceWith(fresh);
      else list.append(fresh);
      cards.set(row.id, { item: fresh, look: look(row, visit) });
    }
  });
  page.leaving(() => cards.clear());
}
