// The outbox: every record made on this tablet, from "saved" to the server's receipt.
//
//   add({kind, payload, tree, title, route, draft, id, photos, recorded_at}) -> Promise<id>
//        resolves once the record is on disk; rejects with NotSaved (a sentence) when it is not.
//        kind, payload   as the server's contract has them          title   one line for the list ("Oak 1024, inspection")
//        tree            the tree's id or tag, for the list          route   the hash that opens the form again, to mend
//        draft           key of the draft it was made from: its id is the record's, its photos follow, it is dropped
//        id              without a draft: give one id a form, so that a double tap makes one record
//        photos          ids of photos without a draft               recorded_at  ISO time; left out: now
//   list({mine}) -> Promise<[Row]>      newest first; Row: {id, kind, title, tree, route, user, user_name, state, errors,
//                                       number, url, flags, recorded_at, sent_at, photos_left, payload}
//   get(id) -> Promise<Row|undefined>
//   counts() -> Promise<{waiting, refused, sent, others, photos}>   of who is signed in; others: rows of somebody else
//   mend(id) -> Promise<{route, key}>   a refused record becomes a draft again, with the server's sentences
//   retry(id), discard(id)              send a refused record as it is; throw it away
//   unsent() -> Promise<Blob>           all that has not been sent, photos within, as a JSON file
//
// States: waiting, sent, refused (the server said no: errors), forbidden (the role does not allow it). "Sending" is not
// stored: sync.sending() tells which ids are on their way, and a killed tab leaves nothing behind.
// Only the server's 2xx that names an id makes a row "sent". Receipts stay for seven days.

import { tell } from "./bus.js";
import { ask, NotSaved, read, write } from "./db.js";
import { rowKey } from "./drafts.js";
import * as me from "./me.js";
import { uuid7 } from "./uuid7.js";

export const RECEIPT_DAYS = 7;
const DAY_MS = 24 * 3600 * 1000;

// The tablet's time with its offset: "2026-05-04T14:03:11.250+02:00".
export function localTime(date = new Date()) {
  const minutes = -date.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(date.getTime() + minutes * 60_000).toISOString().slice(0, -1);
  return `${local}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}

async function owner() {
  const user = await me.get();
  if (!user) throw new NotSaved("Not saved: nobody has signed in on this tablet yet. Sign in once while there is signal.");
  return user;
}

function row(given, user) {
  const { kind, payload, tree = null, title = kind, route = null, recorded_at = localTime() } = given;
  const record = { kind, payload, tree, title, route, recorded_at, user: user.id, user_name: user.name };
  return { ...record, state: "waiting", tries: 0, errors: [], number: null, url: null, flags: [], sent_at: null };
}

export async function add(given) {
  const user = await owner();
  const key = given.draft && (await rowKey(given.draft));
  const id = await write(["outbox", "drafts", "photos"], async ({ outbox, drafts, photos }) => {
    const draft = key ? await ask(drafts.get(key)) : null;
    const id = given.id ?? draft?.record ?? uuid7();
    const mends = draft?.mends ?? null;
    if (mends !== id && (await ask(outbox.get(id)))) return id; // the second tap
    if (mends) await ask(outbox.delete(mends));
    await ask(outbox.add({ ...row(given, user), id, draft: given.draft ?? null, form: draft?.value ?? null }));
    for (const photo of await following(photos, key, given.photos)) await ask(photos.put({ ...photo, record: id, draft: "" }));
    if (draft) await ask(drafts.delete(key));
    return id;
  });
  tell("outbox");
  tell("saved", id);
  return id;
}

async function following(photos, key, ids = []) {
  const found = key ? await ask(photos.index("draft").getAll(key)) : [];
  for (const id of ids) found.push(await ask(photos.get(id)));
  return found.filter(Boolean);
}

export const get = (id) => read(["outbox"], ({ outbox }) => ask(outbox.get(id)));

export const rows = (state) => read(["outbox"], ({ outbox }) => ask(outbox.index("state").getAll(state)));

export async function list({ mine = false } = {}) {
  const user = (await me.get())?.id ?? null;
  const [all, photos] = await read(["outbox", "photos"], async (stores) => [
    await ask(stores.outbox.getAll()),
    await ask(stores.photos.getAll()),
  ]);
  const left = new Map();
  for (const { record } of photos) left.set(record, (left.get(record) ?? 0) + 1);
  return all
    .filter((record) => !mine || record.user === user)
    .map((record) => ({ ...record, photos_left: left.get(record.id) ?? 0 }))
    .reverse();
}

const STATES = ["waiting", "refused", "forbidden", "sent"];

async function counted(index, key = (state) => state) {
  const found = await Promise.all(STATES.map((state) => ask(index.count(key(state)))));
  return Object.fromEntries(STATES.map((state, at) => [state, found[at]]));
}

const unsentOf = ({ waiting, refused, forbidden }) => waiting + refused + forbidden;

export async function counts() {
  const user = (await me.get())?.id ?? 0;
  return read(["outbox", "photos"], async ({ outbox, photos }) => {
    const mine = await counted(outbox.index("user,state"), (state) => [user, state]);
    const all = await counted(outbox.index("state"));
    const left = await ask(photos.index("user").getAll(user));
    return {
      waiting: mine.waiting,
      refused: mine.refused + mine.forbidden,
      sent: mine.sent,
      others: unsentOf(all) - unsentOf(mine),
      photos: left.filter((photo) => photo.record).length,
    };
  });
}

// One transaction for the answers to one request, so that a tablet that dies has all of them or none.
export async function change(ids, change) {
  await write(["outbox"], async ({ outbox }) => {
    for (const id of ids) {
      const record = await ask(outbox.get(id));
      if (record) await ask(outbox.put({ ...record, ...change(record) }));
    }
  });
  tell("outbox");
}

export const retry = (id) => change([id], () => ({ state: "waiting", errors: [] })).then(() => tell("saved", id));

export async function mend(id) {
  const record = await get(id);
  const name = record.draft ?? `mend/${id}`;
  const key = await rowKey(name);
  await write(["drafts", "photos"], async ({ drafts, photos }) => {
    const open = await ask(drafts.get(key));
    if (open?.mends === id) return;
    if (open) throw new NotSaved("Another form for the same thing is open. Save or discard that one first.");
    // What was refused was not kept: it goes again under its id, by which other records may name it. Only where the server
    // holds another record under that id does it need a new one.
    const draft = { key, name, record: record.taken ? uuid7() : id, value: record.form ?? record.payload, errors: record.errors };
    await ask(drafts.put({ ...draft, mends: id, saved_at: Date.now() }));
    for (const photo of await ask(photos.index("record").getAll(id))) await ask(photos.put({ ...photo, draft: key }));
  });
  tell("drafts", name);
  return { route: record.route, key: name };
}

export async function discard(id) {
  await write(["outbox", "photos", "bytes"], async ({ outbox, photos, bytes }) => {
    await ask(outbox.delete(id));
    for (const photo of await ask(photos.index("record").getAllKeys(id))) {
      await ask(photos.delete(photo));
      await ask(bytes.delete(photo));
    }
  });
  tell("outbox");
}

export async function dropOldReceipts(now = Date.now()) {
  const old = (await rows("sent")).filter((record) => record.sent_at < now - RECEIPT_DAYS * DAY_MS);
  await write(["outbox"], async ({ outbox }) => {
    for (const record of old) await ask(outbox.delete(record.id));
  });
}

function base64(bytes) {
  let text = "";
  const view = new Uint8Array(bytes);
  for (let at = 0; at < view.length; at += 0x8000) text += String.fromCharCode(...view.subarray(at, at + 0x8000));
  return btoa(text);
}

async function photosToFile(records) {
  const wanted = new Set(records.map((record) => record.id));
  const stored = await read(["photos"], ({ photos }) => ask(photos.getAll()));
  const files = [];
  for (const { id, record, sha256, taken_at, caption, type } of stored) {
    if (!wanted.has(record)) continue;
    const { bytes } = await read(["bytes"], (stores) => ask(stores.bytes.get(id)));
    files.push({ id, record, sha256, taken_at, caption, type, base64: base64(bytes) });
  }
  return files;
}

export async function unsent() {
  const records = (await list()).filter((record) => record.state !== "sent" || record.photos_left);
  const file = {
    format: "hingewood outbox",
    device: await me.device(),
    clock_offset_ms: await me.clockOffset(),
    written_at: localTime(),
    records: records.map(({ id, kind, recorded_at, payload, user_name, state }) => ({
      ...{ id, kind, recorded_at, payload, user_name, state },
    })),
    photos: await photosToFile(records),
  };
  return new Blob([JSON.stringify(file)], { type: "application/json" });
}
