// A crew lead's orders in this park, the nearest day first.

import { h, put } from "../parts/h.js";
import { orders } from "../parts/orders.js";
import { current } from "../parts/park.js";
import { rating } from "../parts/rating.js";
import { reader } from "../parts/reader.js";
import { day } from "../parts/words.js";

const line = (order) =>
  h(
    "li",
    h(
      "a",
      { class: "tree-line", href: `#/order/${order.id}` },
      h("span", { class: "tree-line__tag" }, order.title),
      h("span", { class: "tree-line__rating" }, rating(order.rating)),
      h("span", { class: "tree-line__about" }, `Order ${order.number} · ${order.scheduled_for ? day(order.scheduled_for) : "no day yet"}`, order.gaps.length > 0 && ` · ${order.gaps[0]}`),
    ),
  );

export async function any() {
  const park = await current();
  return park !== null && (await orders(park.code)).length > 0;
}

export async function show(root) {
  const { park } = await reader();
  const all = (await orders(park.code)).toSorted((one, other) => (one.scheduled_for ?? "9").localeCompare(other.scheduled_for ?? "9"));
  put(root, h("h1", "Orders"), all.length ? h("ul", { class: "plain tree-lines" }, all.map(line)) : h("p", `No order in ${park.name} is yours to work on.`));
}
