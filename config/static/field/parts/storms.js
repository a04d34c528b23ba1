// The open storms of a park as the pack brings them, and what this tablet has found after them.
//
//   storms(code) -> Promise<{events, finds}>          empty lists where the pack has none
//   unsent(event) -> Promise<[record]>                finds of this tablet that the pack does not show yet
//   cautionsOf(tables, {kind, wires}) -> [sentence]   the server's own, by its table
//   caution(sentence) -> HTMLElement

import * as outbox from "../outbox.js";
import * as packs from "../packs.js";
import { h, svg } from "./h.js";

const SIGN = "M8 0 L16 15 H0 Z M7.1 5.5 L7.5 10.5 H8.5 L8.9 5.5 Z M7.2 11.7 V13.4 H8.8 V11.7 Z";

export async function storms(code) {
  const { events = [], finds = [] } = (await packs.part(code, "storms")) ?? {};
  return { events, finds };
}

export async function unsent(event, finds) {
  const there = new Set(finds.map(({ id }) => id));
  const records = await outbox.list({ mine: true });
  return records.filter(({ id, kind, payload }) => kind === "storm_find" && payload.event === event.id && !there.has(id));
}

export function cautionsOf({ storm }, { kind, wires }) {
  const known = storm.cautions[kind];
  if (!known) return wires ? [storm.near_wires] : [];
  return wires ? known.wires : known.no_wires;
}

export const caution = (sentence) =>
  h("div", { class: "caution", role: "note" }, svg("svg", { viewBox: "0 0 16 16", "aria-hidden": "true", focusable: "false" }, svg("path", { d: SIGN, "fill-rule": "evenodd" })), h("div", h("p", sentence)));
