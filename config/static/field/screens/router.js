// From the address behind "#" to a screen.
//
//   start(main)           draws the frame around main, shows in it the screen of the address, and each one after it
//
// A screen is show(root, params, page): it fills root (its own, empty) and may be async. It starts with an h1, which takes the
// focus and names the page, unless page.land(element) says where one goes on. page.leaving(run) runs when the screen is left;
// page.here() is false from then on.

import { on } from "../bus.js";
import { frame } from "../parts/frame.js";
import { go } from "../parts/go.js";
import { h } from "../parts/h.js";
import { ROUTES, SECTIONS } from "./routes.js";

const scrolled = new Map();
let main = null;
let mark = null;
let shown = null;

const pattern = (path) => new RegExp(`^${path.replace(/:(\w+)/g, "(?<$1>[^/]+)")}$`);

const table = ROUTES.map((route) => ({ ...route, pattern: pattern(route.path) }));

const address = () => location.hash.slice(1) || "/";

// "/inspect/12?corrects=…" has the query's values among its params.
export function match(whole) {
  const [path, query = ""] = whole.split("?");
  for (const route of table) {
    const found = route.pattern.exec(path);
    if (!found) continue;
    const parts = Object.entries(found.groups ?? {}).map(([name, text]) => [name, decodeURIComponent(text)]);
    return { route, params: { ...Object.fromEntries(new URLSearchParams(query)), ...Object.fromEntries(parts) } };
  }
  return null;
}

function screenPage(path) {
  const ends = [];
  return {
    path,
    left: false,
    landing: null,
    land(element) {
      this.landing = element;
    },
    leaving: (run) => ends.push(run),
    here() {
      return !this.left;
    },
    leave() {
      this.left = true;
      for (const end of ends) end();
    },
  };
}

function heading(root) {
  const title = root.querySelector("h1");
  if (!title) return;
  title.tabIndex = -1;
  title.focus({ preventScroll: true });
  document.title = `${title.textContent} · Field · Hingewood`;
}

function goOn(element) {
  element.focus({ preventScroll: true });
  element.scrollIntoView({ block: "center" });
}

const stuck = (error) => [
  h("h1", "This screen cannot be shown"),
  h("p", error.message),
  h("p", "What you have recorded is kept on this tablet."),
  h("p", h("a", { class: "button", href: "#/" }, "Back to the start")),
];

async function draw(path) {
  const found = match(path);
  if (!found) return go("/", { replace: true });
  if (shown) scrolled.set(shown.path, scrollY);
  shown?.leave();
  const page = (shown = screenPage(path));
  const root = h("div", { class: "screen" });
  // A form has its own bar under the thumb.
  document.body.classList.toggle("field-page--form", Boolean(found.route.form));
  mark(found.route.section ?? null);
  main.replaceChildren(root);
  try {
    await found.route.show(root, found.params, page);
  } catch (error) {
    console.error(error);
    root.replaceChildren(...stuck(error));
  }
  if (!page.here()) return;
  heading(root);
  if (page.landing) goOn(page.landing);
  else scrollTo(0, scrolled.get(path) ?? 0);
}

export function start(element) {
  main = element;
  mark = frame(main, SECTIONS);
  window.addEventListener("hashchange", () => draw(address()));
  // Another park, or another person: what the screen shows is no longer so.
  on("park", () => draw(address()));
  on("me", () => draw(address()));
  draw(address());
}
