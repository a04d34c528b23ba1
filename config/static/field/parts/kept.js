// What a form turns into once its record is on the tablet.
//
//   kept(root, title, ...more)        more: what else to say and where to go on

import { h, put } from "./h.js";

export function kept(root, title, ...more) {
  const heading = h("h1", { tabindex: "-1" }, title);
  put(root, heading, h("p", { class: "kept", role: "status" }, "Kept on this tablet; it will be sent when there is signal."), more);
  heading.focus({ preventScroll: true });
  scrollTo(0, 0);
}
