// A form that stores itself: at once when a field is left or picked, within a quarter of a second while one types.
//
//   keeping(root, key, state, page) -> {said, fail(sentence), flush(), done()}
//     root: the form's element; state: what the form holds, changed by its fields; said: the element that says it is stored
//     done(): the draft has gone its way; nothing more is stored
//   placeOf(root, at) -> Element | null      where one was in the form when it was last stored (state.at)
//
// A form that nobody touched leaves no draft. A write that fails is said, and tried again at the next change. A new version of
// the page waits while the form is open.

import * as drafts from "../drafts.js";
import * as update from "../update.js";
import { h, put } from "./h.js";

const PAUSE_MS = 250;

const clock = () => new Date().toLocaleTimeString("en-GB");

const nameOf = (element) => element.closest("[data-field]")?.dataset.field ?? element.closest("section")?.getAttribute("aria-labelledby") ?? null;

export function placeOf(root, at) {
  if (!at) return null;
  const field = root.querySelector(`[data-field="${CSS.escape(at)}"]`);
  return field?.querySelector("input:checked, input, select, textarea") ?? root.querySelector(`[id="${CSS.escape(at)}"]`);
}

export function keeping(root, key, state, page) {
  // Not read out at every key; a failure is.
  const said = h("p", { class: "stored" }, "All you enter is stored on this tablet at once.");
  const trouble = h("p", { class: "stored stored--failed", role: "alert" });
  const release = update.hold();
  let timer = null;
  let over = false;
  let touched = false;
  let writing = Promise.resolve();

  async function write() {
    try {
      await drafts.save(key, state);
      put(said, `Stored on this tablet at ${clock()}.`);
      put(trouble);
    } catch (error) {
      put(said);
      put(trouble, error.message);
    }
  }
  function store() {
    clearTimeout(timer);
    timer = null;
    if (over) return writing;
    touched = true;
    // One after the other, so that an older state never lands on a newer one.
    writing = writing.then(write);
    return writing;
  }
  function wait() {
    clearTimeout(timer);
    put(said, "Storing…");
    timer = setTimeout(store, PAUSE_MS);
  }
  const flush = () => (timer === null ? writing : store());
  async function leave() {
    await flush();
    if (!over && !touched && (await drafts.load(key)) === null) await drafts.drop(key);
    release();
  }

  root.addEventListener("input", (event) => {
    state.at = nameOf(event.target);
    wait();
  });
  root.addEventListener("change", (event) => {
    state.at = nameOf(event.target);
    store();
  });
  page.leaving(leave);
  return {
    said: h("div", said, trouble),
    fail: (sentence) => put(trouble, sentence),
    flush,
    done() {
      over = true;
      clearTimeout(timer);
      release();
    },
  };
}
