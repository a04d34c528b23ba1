// The orders of a park that a crew lead takes along, and what was recorded on them here.
//
//   orders(code) -> Promise<[order]>      one(code, id) -> Promise<order>
//   recorded(order, kind) -> Promise<Row | undefined>     the newest record of that kind in this tablet's outbox

import * as outbox from "../outbox.js";
import * as packs from "../packs.js";

export const orders = (code) => packs.part(code, "orders");

export async function one(code, id) {
  const found = (await orders(code)).find((order) => String(order.id) === id);
  if (!found) throw new Error("This order is not in the park that is chosen above. Refresh the pack while there is signal.");
  return found;
}

export async function recorded(order, kind) {
  const rows = await outbox.list({ mine: true });
  return rows.find((row) => row.kind === kind && row.payload.order === order.id);
}
