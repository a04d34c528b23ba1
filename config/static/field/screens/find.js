// Find a tree: by its tag or name, by the code on its tag, by how near it is.

import { on } from "../bus.js";
import { go } from "../parts/go.js";
import { h, put } from "../parts/h.js";
import { icon } from "../parts/icons.js";
import * as place from "../parts/place.js";
import { reader } from "../parts/reader.js";
import { canScan, scan } from "../parts/scan.js";
import { treeList } from "../parts/tree_list.js";
import { all, byDistance, search, stands } from "../parts/trees.js";
import { unfinished } from "../parts/unfinished.js";

const PAUSE_MS = 120;

// What was typed stays for the next time one comes back from a tree.
const asked = { code: null, text: "" };

const byTag = (trees) => trees.toSorted((one, other) => one.tag.localeCompare(other.tag, "en", { numeric: true }));

function order(trees) {
  const fix = place.now();
  return fix ? byDistance(trees, fix) : byTag(trees);
}

const toTree = (tree) => go(`/tree/${encodeURIComponent(tree.id)}`);

async function scanner(trees, page) {
  if (!(await canScan())) return h("p", { class: "muted" }, "This browser cannot read the code on a tag; type the tag instead.");
  const picture = h("div", { class: "scan", role: "status" });
  const found = (tag) => {
    const tree = trees.find((each) => each.tag === tag);
    if (tree) toTree(tree);
    else put(picture, h("p", `No tree of this park has the tag ${tag}.`));
  };
  const start = () => page.leaving(scan(picture, found));
  return [h("button", { class: "button", type: "button", onclick: start }, icon("scan"), "Scan the tag"), picture];
}

function searchField(redraw, toFirst) {
  let timer = null;
  const input = h("input", {
    type: "search",
    id: "find",
    value: asked.text,
    autocomplete: "off",
    autocapitalize: "characters",
    enterkeyhint: "go",
    oninput() {
      asked.text = input.value;
      clearTimeout(timer);
      timer = setTimeout(redraw, PAUSE_MS);
    },
    onkeydown: (event) => event.key === "Enter" && toFirst(),
  });
  return h("div", { class: "field find__field" }, h("label", { for: "find" }, "Tag or species"), input);
}

export async function show(root, { anew }, page) {
  const about = await reader();
  if (anew || asked.code !== about.park.code) Object.assign(asked, { code: about.park.code, text: "" });
  const trees = (await all(about.park.code)).filter(stands);
  const list = h("div", { class: "find__list" });
  const said = h("p", { class: "muted", role: "status" });
  const matching = () => search(order(trees), asked.text);
  const redraw = () => {
    const found = matching();
    const how = place.now() ? "nearest first" : "by tag";
    put(said, asked.text.trim() ? `${found.length} of ${trees.length} trees, ${how}` : `${trees.length} trees, ${how}`);
    put(list, treeList(found, { ...about, place: place.now(), empty: "No tree of this park has such a tag or species." }));
  };
  const toFirst = () => {
    const [first] = matching();
    if (first && asked.text.trim()) toTree(first);
  };
  put(
    root,
    h("h1", "Find a tree"),
    await unfinished(),
    searchField(redraw, toFirst),
    h("div", { class: "find__ways" }, place.placeButton("Nearest first"), await scanner(trees, page), h("a", { class: "button", href: "#/new" }, icon("plus"), "A tree that is not here yet")),
    said,
    list,
  );
  redraw();
  page.leaving(on("place", redraw));
}
