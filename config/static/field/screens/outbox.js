// The outbox: what waits, is on its way, was refused (and why), was sent; the ways out of each.

import { whileShown } from "../bus.js";
import * as me from "../me.js";
import * as outbox from "../outbox.js";
import { go } from "../parts/go.js";
import { h } from "../parts/h.js";
import { keyed } from "../parts/keyed.js";
import { ago, records, times } from "../parts/words.js";
import * as photos from "../photos.js";
import * as sync from "../sync.js";

const RECEIPTS_SHOWN = 50;

const button = (label, onclick, kind = "") => h("button", { class: `button ${kind}`, type: "button", onclick }, label);

const moment = { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" };
const when = (iso) => new Date(iso).toLocaleString("en-GB", moment);

// ---- Sending -------------------------------------------------------------------------------------------------------

function nextTry(next_at) {
  return next_at ? ` Next try in ${times(Math.max(1, Math.ceil((next_at - Date.now()) / 1000)), "second")}.` : "";
}

function how({ phase, sentence, next_at, last_ok }, { waiting, photos: left }) {
  if (phase === "sending") return `Sending: ${records(waiting)} to go.`;
  if (phase === "signed-out") return waiting ? `Sign in to send ${records(waiting)}.` : "Sign in to send and to take parks along.";
  if (sentence) return sentence + nextTry(next_at);
  if (waiting || left) return "What waits is tried again soon.";
  return last_ok ? `Nothing waits. The server was reached ${ago(last_ok)}.` : "";
}

async function saveAsFile() {
  const address = URL.createObjectURL(await outbox.unsent());
  const name = `hingewood-unsent-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
  h("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

function sendingSheet() {
  const said = h("p", { class: "field-how" });
  const file = button("Save unsent as a file", saveAsFile);
  const sheet = h(
    "div",
    { class: "sheet stack" },
    said,
    h("div", { class: "cluster" }, button("Send now", () => sync.send(), "button--primary"), file),
    h("p", { class: "muted" }, "This page sends while it is open. Keep it in sight until nothing waits."),
  );
  const draw = (counts) => {
    said.textContent = how(sync.state(), counts);
    file.hidden = !(counts.waiting || counts.refused || counts.photos || counts.others);
  };
  return { sheet, draw };
}

// ---- A record ------------------------------------------------------------------------------------------------------

const WORDS = { waiting: "waiting", refused: "refused", forbidden: "refused", sent: "sent" };

const word = (record) => (sync.sending().has(record.id) ? "sending" : WORDS[record.state]);

const reasons = (errors) => h("ul", { class: "field-reasons" }, errors.map((error) => h("li", {}, error.message)));

function remarks({ recorded_at, number, photos_left, flags }) {
  const left = photos_left && `${times(photos_left, "photo")} to follow`;
  return [when(recorded_at), number && `received as ${number}`, left, ...flags].filter(Boolean).join(" · ");
}

async function mend(record, say) {
  try {
    const { route } = await outbox.mend(record.id);
    go(route.replace(/^#/, ""));
  } catch (error) {
    say(error.message);
  }
}

function askToDiscard(record, say) {
  const sure = button("Throw it away for good", () => outbox.discard(record.id), "button--danger");
  say("This record and its photos are nowhere else.", sure);
}

function ways(record) {
  const said = h("div", { class: "cluster", role: "status" });
  const say = (...sentence) => said.replaceChildren(...sentence);
  const mendable = record.route && record.state === "refused";
  return [
    h(
      "div",
      { class: "cluster" },
      mendable && button("Mend", () => mend(record, say), "button--primary"),
      button("Try again", () => outbox.retry(record.id)),
      button("Throw away", () => askToDiscard(record, say), "button--quiet"),
    ),
    said,
  ];
}

const refusedPhoto = (photo) =>
  h(
    "div",
    { class: "stack" },
    h("p", {}, `A photo${photo.caption ? ` (${photo.caption})` : ""} was refused:`),
    reasons(photo.errors),
    h(
      "div",
      { class: "cluster" },
      button("Try the photo again", () => photos.again(photo.id).then(sync.send)),
      button("Throw the photo away", () => photos.drop(photo.id), "button--quiet"),
    ),
  );

function line(record) {
  const stuck = record.state === "refused" || record.state === "forbidden";
  return h(
    "li",
    { class: "field-record", "data-id": record.id },
    h("div", { class: "field-record__head" }, h("h3", {}, record.title), h("span", { class: `chip chip--${word(record)}` }, word(record))),
    h("p", { class: "muted" }, remarks(record)),
    stuck && [reasons(record.errors), ways(record)],
    record.refused_photos.map(refusedPhoto),
  );
}

// Not its payload, which does not change and is long.
const look = (record) => [word(record), record.errors, record.number, record.photos_left, record.flags, record.refused_photos];

function group(title, most = Infinity) {
  const heading = h("h2", {});
  const list = h("ul", { class: "plain field-records" });
  const section = h("section", { class: "section", hidden: true }, heading, list);
  const draw = (found) => {
    section.hidden = found.length === 0;
    heading.textContent = `${title} (${found.length})`;
    keyed(list, found.slice(0, most), (record) => record.id, look, line);
  };
  return { section, draw };
}

// ---- Who -----------------------------------------------------------------------------------------------------------

function account() {
  const name = h("p", { class: "muted" });
  const said = h("div", { class: "cluster", role: "status" });
  const leave = () => sync.signOut().catch(() => said.replaceChildren("There is no signal: you cannot sign out now."));
  const section = h("section", { class: "section stack" }, name, h("div", {}, button("Sign out", () => askToLeave(said, leave))), said);
  const draw = (user) => {
    section.hidden = !user;
    name.textContent = user ? `Signed in as ${user.name}.` : "";
  };
  return { section, draw };
}

async function askToLeave(said, leave) {
  const { waiting, refused, photos: left } = await outbox.counts();
  if (!waiting && !refused && !left) return leave();
  const what = [waiting + refused && records(waiting + refused), left && times(left, "photo")].filter(Boolean).join(" and ");
  said.replaceChildren(
    h("p", {}, `Not sent yet: ${what} of yours. They stay on this tablet until you sign in here again.`),
    button("Sign out all the same", leave, "button--danger"),
  );
}

function others() {
  const said = h("p", {});
  const section = h("section", { class: "section", hidden: true }, h("h2", {}, "Somebody else's"), said);
  const draw = (found) => {
    const names = [...new Set(found.map((record) => record.user_name))].join(", ");
    section.hidden = found.length === 0;
    said.textContent = `${records(found.length)} of ${names}: sent when ${names} signs in on this tablet.`;
  };
  return { section, draw };
}

// ---- The screen ----------------------------------------------------------------------------------------------------

async function all() {
  const [found, left] = await Promise.all([outbox.list(), photos.all()]);
  const refused = left.filter((photo) => photo.state === "refused");
  return found.map((record) => ({ ...record, refused_photos: refused.filter((photo) => photo.record === record.id) }));
}

export function outboxScreen(root) {
  const [sheet, refused, waiting, foreign, sent, who] = [
    ...[sendingSheet(), group("Refused"), group("Waiting"), others()],
    ...[group("Sent in the last seven days", RECEIPTS_SHOWN), account()],
  ];
  const empty = h("p", { hidden: true }, "Nothing here yet: what you save in the field is listed here until the server has it.");
  root.replaceChildren(h("h1", {}, "Outbox"), sheet.sheet, empty, refused.section, waiting.section, foreign.section, sent.section, who.section);
  return whileShown(root, ["outbox", "sync", "me"], async () => {
    const [found, counts, user] = await Promise.all([all(), outbox.counts(), me.get()]);
    const mine = found.filter((record) => record.user === user?.id);
    sheet.draw(counts);
    refused.draw(mine.filter((record) => record.state === "refused" || record.state === "forbidden"));
    waiting.draw(mine.filter((record) => record.state === "waiting"));
    foreign.draw(found.filter((record) => record.user !== user?.id && record.state !== "sent"));
    sent.draw(mine.filter((record) => record.state === "sent"));
    who.draw(user);
    empty.hidden = found.length > 0;
  });
}
