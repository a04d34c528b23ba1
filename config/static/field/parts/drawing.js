// A drawing of the server, as SVG text in a pack, made anew element by element: only lines, shapes and words come through.
//
//   drawing(text) -> SVGElement | null

import { svg } from "./h.js";

const TAGS = new Set(["svg", "g", "defs", "pattern", "title", "desc", "line", "polyline", "polygon", "path", "circle", "ellipse", "rect", "text", "tspan"]);
const ATTRIBUTES = new Set([
  "class", "id", "role", "viewBox", "aria-labelledby", "points", "d", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry",
  "dx", "dy", "width", "height", "text-anchor", "font-size", "transform", "fill", "patternUnits", "patternTransform",
]);

const attributesOf = (node) => Object.fromEntries([...node.attributes].filter(({ name }) => ATTRIBUTES.has(name)).map(({ name, value }) => [name, value]));

function copied(node) {
  if (node.nodeType === Node.TEXT_NODE) return node.data;
  if (node.nodeType !== Node.ELEMENT_NODE || !TAGS.has(node.localName)) return null;
  return svg(node.localName, attributesOf(node), [...node.childNodes].map(copied));
}

export function drawing(text) {
  const read = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return read.localName === "svg" ? copied(read) : null;
}
