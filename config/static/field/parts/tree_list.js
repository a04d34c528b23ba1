// Trees as a list of large lines: tag, name, rating, how far, what is due. Long lists grow by a button.
//
//   treeList(trees, {place?, units, tables, empty?, note?}) -> HTMLElement
//   treeLine(tree, {place?, units, tables, note?}) -> <li>         note(tree) -> words at the end of the line

import { bearing, distanceM } from "./geo.js";
import { h } from "./h.js";
import { imminent, rating } from "./rating.js";
import { placed, tagOf } from "./trees.js";
import { show } from "./units.js";
import { day, today } from "./words.js";

const AT_ONCE = 40;

function howFar(tree, { place, tables, units }) {
  if (!place || !placed(tree)) return null;
  return `${show(tables, distanceM(place, tree), "m", units)} ${bearing(place, tree)}`;
}

export function dueWords(tree, on = today()) {
  if (!tree.inspect_due) return null;
  if (tree.inspect_due < on) return h("span", { class: "overdue" }, `overdue since ${day(tree.inspect_due)}`);
  return tree.inspect_due === on ? "due today" : `due ${day(tree.inspect_due)}`;
}

const between = (parts) => parts.filter(Boolean).flatMap((part, at) => (at ? [" · ", part] : [part]));

export function treeLine(tree, about) {
  return h(
    "li",
    h(
      "a",
      { class: "tree-line", href: `#/tree/${encodeURIComponent(tree.id)}` },
      h("span", { class: "tree-line__tag" }, tagOf(tree)),
      h("span", { class: "tree-line__rating" }, tree.imminent && imminent(), rating(tree.rating)),
      h("span", { class: "tree-line__about" }, between([tree.name, howFar(tree, about), about.note?.(tree) ?? dueWords(tree)])),
    ),
  );
}

export function treeList(trees, about) {
  if (!trees.length) return h("p", { class: "muted" }, about.empty ?? "No tree here.");
  const list = h("ul", { class: "plain tree-lines" });
  const more = h("button", { class: "button", type: "button" });
  let shown = 0;
  const grow = () => {
    const next = trees.slice(shown, shown + AT_ONCE);
    const lines = next.map((tree) => treeLine(tree, about));
    list.append(...lines);
    // Who asked for more goes on reading where the new ones begin.
    if (shown) lines[0].firstChild.focus();
    shown += next.length;
    more.hidden = shown >= trees.length;
    more.textContent = `Show ${Math.min(AT_ONCE, trees.length - shown)} more of ${trees.length - shown}`;
  };
  more.addEventListener("click", grow);
  grow();
  return h("div", { class: "stack" }, list, more);
}
