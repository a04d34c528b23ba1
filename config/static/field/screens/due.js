// What is due: the trees whose next look is late or near, the worst rated first.

import { on } from "../bus.js";
import { h, put } from "../parts/h.js";
import * as place from "../parts/place.js";
import { reader } from "../parts/reader.js";
import { treeList } from "../parts/tree_list.js";
import { all, byDistance, stands } from "../parts/trees.js";
import { today } from "../parts/words.js";

const SOON_DAYS = 30;

const dayIn = (days) => today(new Date(Date.now() + days * 24 * 3600 * 1000));

function groups(trees) {
  const [now, soon] = [today(), dayIn(SOON_DAYS)];
  const due = trees.filter((tree) => stands(tree) && tree.inspect_due);
  return [
    ["Overdue", due.filter((tree) => tree.inspect_due < now)],
    ["Due today", due.filter((tree) => tree.inspect_due === now)],
    [`Due within ${SOON_DAYS} days`, due.filter((tree) => tree.inspect_due > now && tree.inspect_due <= soon)],
  ];
}

// The worst first, of those the longest due; near ones first when one knows where one stands.
function order(trees, { ratings }) {
  const fix = place.now();
  if (fix) return byDistance(trees, fix);
  const rank = (tree) => ratings.indexOf(tree.rating);
  return trees.toSorted((one, other) => rank(other) - rank(one) || one.inspect_due.localeCompare(other.inspect_due));
}

const group = ([title, trees], about) =>
  trees.length > 0 &&
  h("section", { class: "section" }, h("h2", `${title} (${trees.length})`), treeList(order(trees, about.tables), { ...about, place: place.now() }));

export async function show(root, params, page) {
  const about = await reader();
  const trees = await all(about.park.code);
  const list = h("div");
  const redraw = () => {
    const found = groups(trees).map((each) => group(each, about)).filter(Boolean);
    put(list, found.length ? found : h("p", `No look is due in ${about.park.name} within ${SOON_DAYS} days.`));
  };
  put(root, h("h1", "Looks that are due"), place.placeButton("Nearest first"), list);
  redraw();
  page.leaving(on("place", redraw));
}
