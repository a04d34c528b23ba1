// Forms begun on this tablet and not kept yet, with the way back into each.
//
//   unfinished({but}?) -> Promise<HTMLElement|null>
//
// A form's draft holds `route` (the address that opens it again) and `title`.

import * as drafts from "../drafts.js";
import { h } from "./h.js";
import { ago } from "./words.js";

const line = ({ value: { route, title }, saved_at }) =>
  h("li", h("a", { class: "unfinished", href: `#${route}` }, h("span", { class: "unfinished__title" }, `Go on: ${title}`), h("span", { class: "muted" }, `stored ${ago(saved_at)}`)));

export async function unfinished() {
  const open = (await drafts.list()).filter(({ value }) => value?.route);
  if (!open.length) return null;
  return h("section", { class: "section", "aria-label": "Begun and not finished" }, h("ul", { class: "plain tree-lines" }, open.map(line)));
}
