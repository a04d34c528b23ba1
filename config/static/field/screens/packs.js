// Parks taken along: which, what they hold, how old and how big they are.

import { whileShown } from "../bus.js";
import * as packs from "../packs.js";
import { h } from "../parts/h.js";
import { keyed } from "../parts/keyed.js";
import { ago, size, times } from "../parts/words.js";

const OLD_MS = 24 * 3600 * 1000;

// What a pack holds, in the order of interest; other parts travel along unsaid.
const PARTS = [
  ["trees", "tree", "trees"],
  ["targets", "target", "targets"],
  ["concerns", "open concern", "open concerns"],
  ["looks", "look asked for", "looks asked for"],
  ["work", "piece of open work", "pieces of open work"],
  ["orders", "order", "orders"],
  ["plantings", "planting in care", "plantings in care"],
];

const holds = ({ counts }) =>
  PARTS.filter(([name]) => counts[name])
    .map(([name, ...words]) => times(counts[name], ...words))
    .join(", ") || "nothing yet";

// A button that works for a while, says how it went, and takes no second tap meanwhile.
function working(label, doing, work, say, kind = "") {
  const button = h("button", { class: `button ${kind}`, type: "button" }, label);
  button.addEventListener("click", async () => {
    button.disabled = true;
    say(doing);
    try {
      await work();
      say("");
    } catch (error) {
      say(error.message);
    }
    button.disabled = false;
  });
  return button;
}

function packLine(pack, say) {
  const old = Date.now() - pack.refreshed_at > OLD_MS;
  const age = `As of ${ago(pack.refreshed_at)}${old ? ": refresh it before you rely on it" : ""}.`;
  return h(
    "li",
    { class: "field-record", "data-code": pack.code },
    h(
      "div",
      { class: "field-record__head" },
      h("h3", {}, h("a", { href: `#/park/${encodeURIComponent(pack.code)}` }, pack.name)),
      h("span", { class: "muted" }, size(pack.size)),
    ),
    h("p", {}, `Holds ${holds(pack)}.`),
    h("p", { class: old ? "overdue" : "muted" }, age),
    h(
      "div",
      { class: "cluster" },
      working("Refresh", `Refreshing ${pack.name}.`, () => packs.refresh(pack.code), say),
      working("Remove", `Removing ${pack.name}.`, () => packs.remove(pack.code), say, "button--quiet"),
    ),
  );
}

const packLook = (pack) => [pack.name, pack.size, pack.counts, ago(pack.refreshed_at)];

const choice = (park, say) =>
  h(
    "li",
    { class: "field-record field-record__head", "data-code": park.code },
    h("span", {}, h("strong", {}, park.name), park.trees === undefined ? "" : h("span", { class: "muted" }, ` ${times(park.trees, "tree")}`)),
    working("Take along", `Taking ${park.name} along.`, () => packs.take(park.code), say),
  );

export function packsScreen(root) {
  const said = h("p", { role: "status", class: "field-how" });
  const none = h("p", {}, "None yet. Take parks along while there is signal.");
  const taken = h("ul", { class: "plain field-records" });
  const offered = h("ul", { class: "plain field-records" });
  const missing = h("p", { class: "muted" });
  const search = h("input", { type: "search", id: "park-search", autocomplete: "off", oninput: () => draw() });
  const say = (sentence) => said.replaceChildren(sentence);
  root.append(h("h1", {}, "Parks on this tablet"), said, none, taken);
  root.append(
    h(
      "section",
      { class: "section stack" },
      h("h2", {}, "Take along"),
      h("div", { class: "field" }, h("label", { for: "park-search" }, "Find a park"), h("div", { class: "field__control" }, search)),
      missing,
      offered,
    ),
    h("p", { class: "section" }, h("a", { class: "button", href: "/" }, "To the other pages, with signal")),
  );
  let parks = null;
  const draw = async () => {
    const kept = await packs.list();
    const codes = new Set(kept.map((pack) => pack.code));
    const wanted = search.value.trim().toLowerCase();
    const free = (parks ?? []).filter((park) => !codes.has(park.code) && park.name.toLowerCase().includes(wanted));
    none.hidden = kept.length > 0;
    keyed(taken, kept, (pack) => pack.code, packLook, (pack) => packLine(pack, say));
    keyed(offered, free, (park) => park.code, (park) => park, (park) => choice(park, say));
    missing.textContent = parks === null || free.length ? "" : noneOffered(wanted, parks);
  };
  packs.parks().then((found) => {
    parks = found;
    draw();
  });
  return whileShown(root, ["packs", "me"], draw);
}

function noneOffered(wanted, parks) {
  if (!parks.length) return "The parks to choose from come with the first signal, once you have signed in.";
  return wanted ? "No other park has this in its name." : "All parks are on this tablet.";
}
