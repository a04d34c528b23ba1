// The park as a map, with the trees in sight listed beside it.

import { h, put } from "../parts/h.js";
import { parkMap } from "../parts/map.js";
import * as packs from "../packs.js";
import * as place from "../parts/place.js";
import { rating } from "../parts/rating.js";
import { reader } from "../parts/reader.js";
import { treeLine, treeList } from "../parts/tree_list.js";
import { all, placed, stands } from "../parts/trees.js";

const legend = (ratings) => h("ul", { class: "plain cluster", "aria-label": "Shades" }, [null, ...ratings].map((word) => h("li", rating(word))));

export async function outlineOf(code) {
  const park = await packs.part(code, "park");
  return park?.boundary ?? null;
}

export async function show(root, { tree: wanted }) {
  const about = await reader();
  const trees = (await all(about.park.code)).filter(stands);
  const picked = h("ul", { class: "plain tree-lines", "aria-live": "polite" });
  const list = h("div");
  const line = (tree) => treeLine(tree, { ...about, place: place.now() });
  const tree = trees.find(({ id }) => String(id) === wanted);
  const map = parkMap({
    trees,
    first: tree && placed(tree) ? tree : null,
    outline: await outlineOf(about.park.code),
    pick: (tree) => put(picked, line(tree)),
    moved: () => put(list, treeList(map.inSight(), { ...about, place: place.now(), empty: "No tree in sight here; press “All”." })),
  });
  const unplaced = trees.filter((tree) => !placed(tree)).length;
  put(
    root,
    h("h1", "Map"),
    h("div", { class: "map-beside" }, h("div", { class: "stack" }, map.element, picked, legend(about.tables.ratings)), h("section", { class: "section" }, h("h2", "In sight"), list)),
    place.placeButton("Where I stand", { then: (fix) => map.show(fix) }),
    unplaced > 0 && h("p", { class: "muted" }, `${unplaced} trees have no position; find them by their tag.`),
  );
  if (tree) put(picked, line(tree));
}
