// Forms in the middle: every change is stored at once, so that a closed tab loses nothing. Each user sees only his own.
//
//   open(key) -> Promise<Draft>       the draft under the key, made if there is none: {key, record, value, errors, mends}
//                                     `record` is the id that the record will have: give it to outbox.add
//   save(key, value)                  store what the form holds now (plain data)
//   load(key) -> Promise<value|null>
//   drop(key)                         throw the draft and its photos away
//   list() -> Promise<[Draft]>        newest first, with saved_at in milliseconds
//
// `errors` ([{field, message}]) are the server's sentences when the draft mends a refused record.

import { tell } from "./bus.js";
import { ask, read, write } from "./db.js";
import * as me from "./me.js";
import { uuid7 } from "./uuid7.js";

export async function rowKey(key) {
  return `${(await me.get())?.id ?? 0}/${key}`;
}

export const fresh = (row, key) => ({ key: row, name: key, record: uuid7(), value: null, errors: [], mends: null });

const shown = ({ name, record, value, errors, mends, saved_at }) => ({ key: name, record, value, errors, mends, saved_at });

async function update(key, change) {
  const row = await rowKey(key);
  const draft = await write(["drafts"], async ({ drafts }) => {
    const draft = change((await ask(drafts.get(row))) ?? fresh(row, key));
    await ask(drafts.put({ ...draft, saved_at: Date.now() }));
    return draft;
  });
  tell("drafts", key);
  return shown(draft);
}

export const open = (key) => update(key, (draft) => draft);

export const save = (key, value) => update(key, (draft) => ({ ...draft, value }));

export async function load(key) {
  const row = await rowKey(key);
  return read(["drafts"], async ({ drafts }) => (await ask(drafts.get(row)))?.value ?? null);
}

export async function drop(key) {
  const row = await rowKey(key);
  await write(["drafts", "photos", "bytes"], async ({ drafts, photos, bytes }) => {
    await ask(drafts.delete(row));
    for (const photo of await ask(photos.index("draft").getAll(row))) await leave(photo, photos, bytes);
  });
  tell("drafts", key);
}

// A photo of a record that is being mended stays with the record; one of the draft alone goes.
async function leave(photo, photos, bytes) {
  if (photo.record) return ask(photos.put({ ...photo, draft: "" }));
  await ask(photos.delete(photo.id));
  return ask(bytes.delete(photo.id));
}

export async function list() {
  const start = await rowKey("");
  const rows = await read(["drafts"], ({ drafts }) => ask(drafts.getAll(IDBKeyRange.bound(start, `${start}\uffff`))));
  return rows.sort((one, other) => other.saved_at - one.saved_at).map(shown);
}
