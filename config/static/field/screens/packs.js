// Parks taken along: which, what they hold, how old and how big they are.

import { whileShown } from "../bus.js";
import * as packs from "../packs.js";
import { h } from "../parts/h.js";
import { ago, size, times } from "../parts/words.js";

const OLD_MS = 24 * 3600 * 1000;

const PARTS = {
  trees: ["tree", "trees"],
  targets: ["target", "targets"],
  concerns: ["open concern", "open concerns"],
  orders: ["order", "orders"],
  plantings: ["planting", "plantings"],
};

const holds = ({ counts }) =>
  Object.entries(PARTS)
    .filter(([name]) => counts[name])
    .map(([name, words]) => times(counts[name], ...words))
    .join(", ") || "nothing yet";

// A button that works for a while, says how it went, and takes no second tap meanwhile.
function working(label, work, say, kind = "") {
  const button = h("button", { class: `button ${kind}`, type: "button" }, label);
  button.addEventListener("click", async () => {
    button.disabled = true;
    say(`${label}: under way.`);
    try {
      await work();
      say("");
    } catch (error) {
      say(error instanceof packs.NoPack || error.name === "NotSaved" ? error.message : "No signal: the pack stays as it is.");
    }
    button.disabled = false;
  });
  return button;
}

function packLine(pack, say) {
  const old = Date.now() - pack.refreshed_at > OLD_MS;
  return h(
    "li",
    { class: "field-record", "data-code": pack.code },
    h("div", { class: "field-record__head" }, h("a", { class: "field-record__title", href: `#/park/${encodeURIComponent(pack.code)}` }, pack.name), h("span", {}, size(pack.size))),
    h("p", {}, `Holds ${holds(pack)}.`),
    h("p", { class: old ? "overdue" : "muted" }, `As of ${ago(pack.refreshed_at)}${old ? ": refresh it before you rely on it" : ""}.`),
    h("div", { class: "cluster" }, working("Refresh", () => packs.refresh(pack.code), say), working("Remove", () => packs.remove(pack.code), say, "button--quiet")),
  );
}

function choice(park, say) {
  const about = park.trees === undefined ? "" : times(park.trees, "tree");
  return h(
    "li",
    { class: "field-record field-record__head", "data-code": park.code },
    h("span", {}, h("span", { class: "field-record__title" }, park.name), about && h("span", { class: "muted" }, ` ${about}`)),
    working("Take along", () => packs.take(park.code), say),
  );
}

export function packsScreen(root) {
  const said = h("p", { role: "status" });
  const taken = h("ul", { class: "plain field-records" });
  const offered = h("ul", { class: "plain field-records" });
  const search = h("input", { type: "search", id: "park-search", autocomplete: "off" });
  const say = (sentence) => said.replaceChildren(sentence);
  root.append(
    h("h1", {}, "Parks on this tablet"),
    said,
    taken,
    h("section", { class: "section" }, h("h2", {}, "Take along"), h("div", { class: "field" }, h("label", { for: "park-search" }, "Find a park"), search), offered),
  );
  let parks = [];
  const draw = async () => {
    const kept = await packs.list();
    const codes = new Set(kept.map((pack) => pack.code));
    const wanted = search.value.trim().toLowerCase();
    const free = parks.filter((park) => !codes.has(park.code) && park.name.toLowerCase().includes(wanted));
    taken.replaceChildren(...(kept.length ? kept.map((pack) => packLine(pack, say)) : [h("li", {}, "None yet. Take one along while there is signal.")]));
    offered.replaceChildren(...free.map((park) => choice(park, say)));
  };
  search.addEventListener("input", draw);
  whileShown(root, ["packs", "me"], draw);
  packs.parks().then((found) => {
    parks = found;
    draw();
  });
}
