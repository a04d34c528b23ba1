// What keeps a form from being kept, or what the server said against it: a list above, and each sentence at its field.
//
//   faultBox(root) -> {element, show(title, faults)}      faults: [{field, message}], field the id of a field of the form
//     show() clears what was said before, and puts the list in sight and focus; its lines lead to the fields; it returns the list

import { clearFaults, fault } from "./fields.js";
import { h, put } from "./h.js";

const control = (root, id) => root.querySelector(`[data-field="${CSS.escape(id)}"] :is(input, select, textarea)`);

function line(root, { field, message }) {
  if (!fault(root, field, message)) return h("li", message);
  return h("li", h("button", { class: "button button--quiet", type: "button", onclick: () => control(root, field)?.focus() }, message));
}

export function faultBox(root) {
  const element = h("div");
  function show(title, faults) {
    clearFaults(root);
    const lines = faults.map((each) => line(root, each));
    put(element, lines.length > 0 && h("div", { class: "error-summary", tabindex: "-1" }, h("h2", title), h("ul", { class: "plain" }, lines)));
    element.firstElementChild?.focus();
    return element.firstElementChild;
  }
  return { element, show };
}
