// What is due: the trees whose next look is late or near, the worst rated first.
//
// "/due?park=LG&until=2026-12-06" is a round as the office planned it: that park, up to that day.

import { on } from "../bus.js";
import { h, put } from "../parts/h.js";
import { go } from "../parts/go.js";
import { choose } from "../parts/park.js";
import * as place from "../parts/place.js";
import { reader } from "../parts/reader.js";
import { treeList } from "../parts/tree_list.js";
import { all, byDistance, stands } from "../parts/trees.js";
import { day, today } from "../parts/words.js";
import * as packs from "../packs.js";

const SOON_DAYS = 30;

const dayIn = (days) => today(new Date(Date.now() + days * 24 * 3600 * 1000));

function groups(trees, until) {
  const [now, soon] = [today(), until ?? dayIn(SOON_DAYS)];
  const due = trees.filter((tree) => stands(tree) && tree.inspect_due);
  return [
    ["Overdue", due.filter((tree) => tree.inspect_due < now)],
    ["Due today", due.filter((tree) => tree.inspect_due === now)],
    [until ? `Due by ${day(until)}` : `Due within ${SOON_DAYS} days`, due.filter((tree) => tree.inspect_due > now && tree.inspect_due <= soon)],
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

// Whether the screen goes elsewhere: to the park that was asked for, or to the packs where it is not on the tablet.
async function elsewhere(park, about) {
  if (!park || about.park.code === park) return false;
  const kept = (await packs.list()).some((pack) => pack.code === park);
  if (kept) await choose(park);
  else go("/packs", { replace: true });
  return true;
}

export async function show(root, { park, until }, page) {
  const about = await reader();
  if (await elsewhere(park, about)) return;
  const trees = await all(about.park.code);
  const list = h("div");
  const redraw = () => {
    const found = groups(trees, until).map((each) => group(each, about)).filter(Boolean);
    put(list, found.length ? found : h("p", `No look is due in ${about.park.name} ${until ? `by ${day(until)}` : `within ${SOON_DAYS} days`}.`));
  };
  put(root, h("h1", "Looks that are due"), place.placeButton("Nearest first"), list);
  redraw();
  page.leaving(on("place", redraw));
}
