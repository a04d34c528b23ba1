// What stands around each screen: the park, what waits to be sent, notices, and the sections under the thumb.
//
//   frame(main, sections) -> mark(section)
//     main: the element that takes the screens; sections: [{name, label, icon, path, needs?: permission, shows?: () => Promise<bool>}]
//     mark() shows which section one is in

import { whileShown } from "../bus.js";
import * as me from "../me.js";
import * as packs from "../packs.js";
import { counter } from "./counter.js";
import { h, put } from "./h.js";
import { icon } from "./icons.js";
import { notices } from "./notices.js";
import { choose, current } from "./park.js";

async function parkPicker() {
  const [all, now] = await Promise.all([packs.list(), current()]);
  if (!now) return h("a", { class: "button", href: "#/packs" }, "Take a park along");
  if (all.length === 1) return h("p", { class: "field-head__park" }, now.name);
  const options = all.map((pack) => h("option", { value: pack.code }, pack.name));
  return h("select", { "aria-label": "Park", value: now.code, onchange: (event) => choose(event.target.value) }, options);
}

async function sectionLinks(sections, here) {
  const may = (await me.get())?.may ?? [];
  const allowed = sections.filter(({ needs }) => !needs || may.includes(needs));
  const filled = await Promise.all(allowed.map(({ shows }) => shows?.() ?? true));
  const mine = allowed.filter((_, at) => filled[at]);
  const link = ({ name, label, path, icon: drawing }) =>
    h("li", h("a", { href: `#${path}`, "aria-current": name === here && "page" }, icon(drawing), h("span", label)));
  return h("ul", mine.map(link));
}

// Not a link: its address would be taken for a screen's.
const skip = (main) => h("button", { class: "skip-link", type: "button", onclick: () => main.focus() }, "Skip to the content");

export function frame(main, sections) {
  let section = null;
  const park = h("div", { class: "field-head__where" });
  const said = h("div", { class: "field-notices", role: "status" });
  const nav = h("nav", { class: "field-bar", "aria-label": "Sections" });
  const drawSections = async () => put(nav, await sectionLinks(sections, section));
  main.tabIndex = -1;
  main.before(skip(main), h("header", { class: "field-head" }, park, counter()), said);
  main.after(nav);
  whileShown(park, ["packs", "park", "me"], async () => put(park, await parkPicker()));
  whileShown(nav, ["me", "packs", "park"], drawSections);
  notices(said);
  return (name) => {
    section = name;
    return drawSections();
  };
}
