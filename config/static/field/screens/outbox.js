// The outbox: what waits, is on its way, was refused (and why), was sent; the ways out of each.

import { whileShown } from "../bus.js";
import * as me from "../me.js";
import * as outbox from "../outbox.js";
import { h } from "../parts/h.js";
import { ago, records, times } from "../parts/words.js";
import * as photos from "../photos.js";
import * as sync from "../sync.js";

const button = (label, onclick, kind = "") => h("button", { class: `button ${kind}`, type: "button", onclick }, label);

const when = (iso) => new Date(iso).toLocaleString(undefined, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

// ---- Sending ---------------------------------------------------------------------------------------------------------

function nextTry({ phase, next_at }) {
  if (phase === "sending" || phase === "idle" || !next_at) return "";
  return ` Next try in ${times(Math.max(1, Math.ceil((next_at - Date.now()) / 1000)), "second")}.`;
}

function how(state, counts) {
  if (state.phase === "sending") return `Sending. ${records(counts.waiting)} to go.`;
  if (state.phase === "signed-out") return counts.waiting ? `Sign in to send ${records(counts.waiting)}.` : "You are signed out.";
  if (state.sentence) return state.sentence + nextTry(state);
  return state.last_ok ? `The server has all it can take. Last contact ${ago(state.last_ok)}.` : "";
}

function head(counts) {
  return h(
    "div",
    { class: "sheet stack" },
    h("p", { class: "field-how" }, how(sync.state(), counts)),
    h("p", { class: "muted" }, "This page sends while it is open. Keep it in sight until nothing waits."),
    h(
      "div",
      { class: "actions" },
      button("Send now", () => sync.send(), "button--primary"),
      button("Save what is unsent as a file", saveAsFile),
    ),
  );
}

async function saveAsFile() {
  const address = URL.createObjectURL(await outbox.unsent());
  const name = `hingewood-unsent-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
  h("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

// ---- A record --------------------------------------------------------------------------------------------------------

const STATES = { waiting: "waiting", refused: "refused", forbidden: "refused", sent: "sent" };

function chip(record) {
  const word = sync.sending().has(record.id) ? "sending" : STATES[record.state];
  return h("span", { class: `chip chip--${word}` }, word);
}

const reasons = (errors) => errors.length > 0 && h("ul", { class: "field-reasons" }, errors.map((error) => h("li", {}, error.message)));

function remarks(record) {
  const left = record.photos_left ? `${times(record.photos_left, "photo")} to follow` : "";
  const number = record.number ? `received as ${record.number}` : "";
  return [when(record.recorded_at), number, left, ...record.flags.map(String)].filter(Boolean).join(" · ");
}

async function mend(record, say) {
  try {
    const { route } = await outbox.mend(record.id);
    if (route) location.hash = route;
  } catch (error) {
    say(error.message);
  }
}

function discard(record, say) {
  const sure = button("Throw it away for good", () => outbox.discard(record.id), "button--danger");
  say("This record is nowhere else.", sure);
}

function ways(record) {
  const asked = h("div", { class: "cluster", role: "status" });
  const say = (sentence, ...more) => asked.replaceChildren(h("p", {}, sentence), ...more);
  return [
    h(
      "div",
      { class: "cluster" },
      record.route && record.state === "refused" && button("Mend", () => mend(record, say), "button--primary"),
      button("Try again", () => outbox.retry(record.id)),
      button("Throw away", () => discard(record, say), "button--quiet"),
    ),
    asked,
  ];
}

async function photoLines(record) {
  const refused = (await photos.ofRecord(record.id)).filter((photo) => photo.state === "refused");
  return refused.map((photo) =>
    h(
      "div",
      { class: "stack" },
      h("p", {}, `A photo was refused${photo.caption ? ` (${photo.caption})` : ""}:`),
      reasons(photo.errors),
      h(
        "div",
        { class: "cluster" },
        button("Try again", () => photos.again(photo.id).then(sync.send)),
        button("Throw the photo away", () => photos.drop(photo.id), "button--quiet"),
      ),
    ),
  );
}

async function line(record) {
  const stuck = record.state === "refused" || record.state === "forbidden";
  return h(
    "li",
    { class: "field-record", "data-id": record.id },
    h("div", { class: "field-record__head" }, h("span", { class: "field-record__title" }, record.title), chip(record)),
    h("p", { class: "muted" }, remarks(record)),
    stuck && reasons(record.errors),
    stuck && ways(record),
    await photoLines(record),
  );
}

async function group(title, found) {
  if (!found.length) return null;
  const lines = await Promise.all(found.map(line));
  return h("section", { class: "section" }, h("h2", {}, `${title} (${found.length})`), h("ul", { class: "plain field-records" }, lines));
}

function othersLine(others) {
  if (!others.length) return null;
  const names = [...new Set(others.map((record) => record.user_name))].join(", ");
  return h("section", { class: "section" }, h("h2", {}, "Somebody else's"), h("p", {}, `${records(others.length)} of ${names}. They are sent when ${names} signs in on this tablet.`));
}

// ---- The account -----------------------------------------------------------------------------------------------------

function signOut(user, counts) {
  if (!user) return null;
  const asked = h("div", { class: "cluster", role: "status" });
  const leave = () => sync.signOut().catch(() => asked.replaceChildren(h("p", {}, "There is no signal: you cannot sign out now.")));
  const open = counts.waiting + counts.refused;
  const ask = () =>
    open
      ? asked.replaceChildren(
          h("p", {}, `${records(open)} of yours are not sent. They stay on this tablet until you sign in here again.`),
          button("Sign out all the same", leave, "button--danger"),
        )
      : leave();
  return h("section", { class: "section stack" }, h("p", { class: "muted" }, `Signed in as ${user.name}.`), h("div", {}, button("Sign out", ask)), asked);
}

const RECEIPTS_SHOWN = 50;

async function draw(root) {
  const [all, counts, user] = [await outbox.list(), await outbox.counts(), await me.get()];
  const mine = all.filter((record) => record.user === user?.id);
  const of = (...states) => mine.filter((record) => states.includes(record.state));
  const sent = of("sent");
  root.replaceChildren(
    ...[
      h("h1", {}, "Outbox"),
      head(counts),
      await group("Refused", of("refused", "forbidden")),
      await group("Waiting", of("waiting")),
      othersLine(all.filter((record) => record.user !== user?.id && record.state !== "sent")),
      await group("Sent in the last seven days", sent.slice(0, RECEIPTS_SHOWN)),
      mine.length ? null : h("p", {}, "Nothing here yet: what you save in the field is listed here until the server has it."),
      signOut(user, counts),
    ].filter(Boolean),
  );
}

export function outboxScreen(root) {
  whileShown(root, ["outbox", "sync", "me"], () => draw(root));
}
