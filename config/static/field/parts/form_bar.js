// What stands under the thumb while a form is open, and the way to give it up.
//
//   formBar({said, before?, label, keep}) -> HTMLElement
//   giveUp(drop) -> HTMLElement       drop() throws the draft away and goes elsewhere

import { h } from "./h.js";

export const formBar = ({ said, before, label, keep }) =>
  h("div", { class: "keep-bar" }, h("div", before, said), h("button", { class: "button button--primary", type: "button", onclick: keep }, label));

export const giveUp = (drop) =>
  h(
    "details",
    h("summary", { class: "button button--quiet" }, "Give this form up"),
    h("p", "What you entered here and its photos are thrown away for good."),
    h("button", { class: "button button--danger", type: "button", onclick: drop }, "Throw it away"),
  );
