// What the page has to say above every screen: sign in, a new version, little room, somebody else's records.
//
//   notices(root) -> void        fills and redraws root (an element with role="status")

import { whileShown } from "../bus.js";
import * as outbox from "../outbox.js";
import * as room from "../room.js";
import * as sync from "../sync.js";
import * as update from "../update.js";
import { h } from "./h.js";
import { records } from "./words.js";

const SIGN_IN = "/login/?next=/field/";

function signIn({ waiting }) {
  if (sync.state().phase !== "signed-out") return null;
  const label = waiting ? `Sign in to send ${records(waiting)}` : "Sign in";
  return notice(sync.state().sentence || "You are not signed in.", h("a", { class: "button button--primary", href: SIGN_IN }, label));
}

function newVersion() {
  if (!update.waiting()) return null;
  if (update.held()) return notice("A new version is ready. It can start when this form is saved or left.");
  return notice("A new version is ready.", h("button", { class: "button", type: "button", onclick: update.apply }, "Start the new version"));
}

function tooOld() {
  return sync.state().phase === "too-old" && !update.waiting() ? notice(sync.state().sentence) : null;
}

const littleRoom = () => (room.now().low ? notice(room.now().sentence) : null);

function others({ others }) {
  if (!others) return null;
  return notice(`${records(others)} of somebody else wait on this tablet. They are sent when their owner signs in.`);
}

const notice = (sentence, ...children) => h("div", { class: "field-notice" }, h("p", {}, sentence), ...children);

export function notices(root) {
  whileShown(root, ["sync", "outbox", "update", "held", "storage", "me"], async () => {
    const counts = await outbox.counts();
    root.replaceChildren(...[signIn(counts), tooOld(), newVersion(), littleRoom(), others(counts)].filter(Boolean));
  });
}

