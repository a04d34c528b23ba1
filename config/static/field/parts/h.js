// Elements made without markup in strings: data stays text, whatever it holds.
//
//   h(tag, attrs?, ...children) -> HTMLElement      svg(tag, attrs?, ...children) -> SVGElement
//   put(node, ...children) -> node                  in the place of what the node holds
//
// Attributes: true sets one bare; false, null and undefined leave it out; class may be a list; onclick and the like listen;
// value and checked are set as properties, after the children. Children may be nested lists; null and false are left out.

const AS_PROPERTY = new Set(["value", "checked"]);
const SVG = "http://www.w3.org/2000/svg";

const isAttrs = (given) => given !== null && typeof given === "object" && !(given instanceof Node) && !Array.isArray(given);

function set(node, name, value) {
  if (value === false || value === null || value === undefined) return;
  if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
  else if (name === "class") node.setAttribute("class", [value].flat().filter(Boolean).join(" "));
  else node.setAttribute(name, value === true ? "" : value);
}

const kept = (children) => children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);

function fill(node, given) {
  const attrs = isAttrs(given[0]) ? given[0] : {};
  const children = isAttrs(given[0]) ? given.slice(1) : given;
  for (const [name, value] of Object.entries(attrs)) if (!AS_PROPERTY.has(name)) set(node, name, value);
  node.append(...kept(children));
  for (const name of AS_PROPERTY) if (name in attrs && attrs[name] !== undefined) node[name] = attrs[name];
  return node;
}

export const h = (tag, ...given) => fill(document.createElement(tag), given);

export const svg = (tag, ...given) => fill(document.createElementNS(SVG, tag), given);

export function put(node, ...children) {
  node.replaceChildren(...kept(children));
  return node;
}
