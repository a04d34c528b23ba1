// The server's tables held as data: matrices, suggestions, words, defect kinds, bounds, species. No rule stands elsewhere.
//
//   get() -> Promise<object|null>     as the server sent them last; null before the first contact
//   refresh() -> Promise<boolean>     fetch what changed; true when they did

import { on, tell } from "./bus.js";
import { fetchJson } from "./fetching.js";
import * as me from "./me.js";

let held = null;

on("tables", () => (held = null));

export async function get() {
  held ??= (await me.kept("tables"))?.tables ?? null;
  return held;
}

export async function refresh() {
  const known = await me.kept("tables");
  const { status, body, headers } = await fetchJson("/field/tables", {
    headers: known ? { "If-None-Match": known.etag } : {},
  });
  if (status !== 200) return false;
  await me.keep("tables", { etag: headers.get("ETag"), tables: body });
  tell("tables");
  return true;
}
