// The open storms of the park: what waits there, the most dangerous first, and what this tablet has found.

import { whileShown } from "../bus.js";
import { h, put } from "../parts/h.js";
import { current } from "../parts/park.js";
import { reader } from "../parts/reader.js";
import { caution, cautionsOf, storms, unsent } from "../parts/storms.js";
import { capital, day, FATES } from "../parts/words.js";

export async function any() {
  const park = await current();
  return park !== null && (await storms(park.code)).events.length > 0;
}

const line = (where, what, more, cautions) => h("li", { class: "field-record" }, h("p", h("strong", where), `: ${what}`), h("p", { class: "muted" }, more), cautions.map((sentence) => h("p", sentence)));

const waiting = ({ where, kind, reason, cautions }) => line(where, capital(kind), reason, cautions);

function own({ payload, title, state }, tables) {
  return line(title, capital(payload.kind), capital(`${FATES[state] ?? state}.`), cautionsOf(tables, payload));
}

async function event(storm, finds, { tables, may }) {
  const here = finds.filter((find) => find.event === storm.id);
  const mine = await unsent(storm, here);
  return h(
    "section",
    { class: "section", "aria-labelledby": `storm-${storm.id}` },
    h("h2", { id: `storm-${storm.id}` }, storm.name),
    h("p", { class: "muted" }, `Since ${day(storm.began_at)}.`),
    may.includes("record what a storm did") && h("p", h("a", { class: "button button--primary", href: `#/storm/${storm.id}/find` }, "Write down a find")),
    mine.length > 0 && [h("h3", "From this tablet"), h("ul", { class: "plain field-records" }, mine.map((record) => own(record, tables)))],
    h("h3", "Not dealt with, the most dangerous first"),
    here.length ? h("ul", { class: "plain field-records" }, here.map(waiting)) : h("p", "Nothing waits, as far as this tablet knows."),
  );
}

export async function show(root) {
  const about = await reader();
  const listed = h("div");
  const draw = async () => {
    const { events, finds } = await storms(about.park.code);
    put(listed, events.length ? await Promise.all(events.map((storm) => event(storm, finds, about))) : h("p", `No storm is open over ${about.park.name}.`));
  };
  put(root, h("h1", "Storm"), caution(about.tables.storm.near_wires), listed);
  await draw();
  whileShown(listed, ["outbox", "packs"], draw);
}
