// The outbox in the page head: what waits, what is refused, how sending goes; a link to the outbox.
//
//   counter() -> HTMLElement      redraws itself while it is on the page

import { whileShown } from "../bus.js";
import * as outbox from "../outbox.js";
import * as sync from "../sync.js";
import { h } from "./h.js";

function words({ waiting, refused, photos }) {
  const open = [waiting && `${waiting} waiting`, refused && `${refused} refused`].filter(Boolean);
  if (!open.length && photos) open.push(photos === 1 ? "1 photo waiting" : `${photos} photos waiting`);
  return open.join(", ") || "All sent";
}

const HOW = { sending: "Sending", "no-signal": "No signal", "signed-out": "Signed out", trouble: "Trying again", "too-old": "Old version" };

export function counter() {
  const link = h("a", { class: "field-counter", href: "#/outbox" });
  queueMicrotask(() =>
    whileShown(link, ["outbox", "sync", "me"], async () => {
      const counts = await outbox.counts();
      const how = HOW[sync.state().phase];
      const open = counts.waiting || counts.refused || counts.photos;
      link.classList.toggle("field-counter--open", Boolean(open));
      link.classList.toggle("field-counter--refused", Boolean(counts.refused));
      link.replaceChildren(h("span", { class: "field-counter__what" }, words(counts)), how ? h("span", {}, how) : "");
      link.setAttribute("aria-label", `Outbox: ${words(counts)}${how ? `; ${how}` : ""}`);
    }),
  );
  return link;
}
