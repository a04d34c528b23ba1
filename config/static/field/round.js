// One round of sending: hello, then the records in batches, then the photos of those that have arrived.
//
//   round(user => void) -> Promise     resolves when all that can be sent is sent; throws Stop or NoSignal
//   sending() -> Set<id>               records and photos on their way at this moment
//   Stop {phase, message}              what ended the round: "signed-out", "too-old" or "trouble"
//
// A request whose answer is lost is simply sent again: the server knows the ids.

import { tell } from "./bus.js";
import { fetchJson, NoSignal } from "./fetching.js";
import * as me from "./me.js";
import * as outbox from "./outbox.js";
import * as photos from "./photos.js";

export const SCHEMA = 1;
export const HELLO_MS = 8_000;
const SEND_MS = 60_000;
const BATCH_BYTES = 400_000;
// So many records in a row that the server fails on, each alone: then it is the server, not the records.
const FAILURES = 3;
// So often is a photo sent again that the line has damaged; then the tablet's own copy may be at fault, and one is told.
const DAMAGED = 5;

export class Stop extends Error {
  constructor(phase, sentence) {
    super(sentence);
    this.phase = phase;
  }
}

const trouble = () => new Stop("trouble", "The server could not take the records just now. They stay here and are tried again.");

const signedOut = () => new Stop("signed-out", "Your login has ended.");

const tooOld = () => new Stop("too-old", "This page is too old for the server: start the new version, then send.");

let onTheirWay = new Set();
// Grows while it goes well, shrinks when a request is lost on a bad line.
let batch = 20;

export const sending = () => onTheirWay;

function way(ids) {
  onTheirWay = new Set(ids);
  tell("outbox");
}

async function hello() {
  const before = Date.now();
  const { status, body } = await fetchJson("/field/hello", {}, HELLO_MS);
  if (status === 401) throw signedOut();
  if (status !== 200 || !body) throw trouble();
  const offset = Math.round(Date.parse(body.server_time) - (before + Date.now()) / 2);
  await me.remember(body, offset);
  tell("build", body.build);
  if (SCHEMA < body.schema_min) throw tooOld();
  return { csrf: body.csrf, user: body.user, offset, most: body.limits?.records ?? 50, failed: new Set() };
}

async function post(path, line, body, headers = {}) {
  const options = { method: "POST", body, headers: { "X-CSRFToken": line.csrf, ...headers } };
  const answer = await fetchJson(path, options, SEND_MS);
  if (answer.status === 401) throw signedOut();
  // Busy or away behind a proxy; or a token of another login, which the next hello replaces.
  if ([429, 502, 503, 504].includes(answer.status) || (answer.status === 403 && !answer.body?.results)) throw trouble();
  return answer;
}

// ---- Records -------------------------------------------------------------------------------------------------------

const wire = ({ id, kind, recorded_at, payload }) => ({ id, kind, recorded_at, payload });

// The oldest first, but what failed before goes behind what was never tried: one bad record must not hold up the rest.
async function nextBatch(line) {
  const mine = (record) => record.user === line.user.id && !line.failed.has(record.id);
  const waiting = (await outbox.rows("waiting")).filter(mine);
  waiting.sort((one, other) => one.tries - other.tries || (one.id < other.id ? -1 : 1));
  const taken = [];
  let bytes = 0;
  for (const record of waiting.slice(0, Math.min(batch, line.most))) {
    bytes += JSON.stringify(wire(record)).length;
    if (taken.length && bytes > BATCH_BYTES) break;
    taken.push(record);
  }
  return taken;
}

const FORBIDDEN = [{ field: "", message: "Your role does not allow this record. Ask your manager; it stays here until then." }];
const CONFLICT = [{ field: "", message: "The server holds another record under this id. Mend it to send it under a new one." }];

// What becomes of a record by its answer; an answer that is missing or not understood leaves it waiting.
function outcome(result) {
  const { number = null, url = null, flags = [], errors = [] } = result ?? {};
  const sent = { state: "sent", number, url, flags, errors: [], sent_at: Date.now(), form: null };
  const outcomes = {
    stored: sent,
    known: sent,
    refused: { state: "refused", errors },
    conflict: { state: "refused", taken: true, errors: errors.length ? errors : CONFLICT },
    forbidden: { state: "forbidden", errors: errors.length ? errors : FORBIDDEN },
  };
  return outcomes[result?.status] ?? {};
}

const DECIDED = new Set(["stored", "known", "refused", "conflict", "forbidden"]);

async function postRecords(line, records) {
  const about = { schema: SCHEMA, device: await me.device(), clock_offset_ms: line.offset, user: line.user.id };
  const body = { ...about, records: records.map(wire) };
  try {
    return await post("/field/records", line, JSON.stringify(body), { "Content-Type": "application/json" });
  } catch (error) {
    if (error instanceof NoSignal) batch = Math.max(1, Math.floor(batch / 2));
    throw error;
  }
}

async function sendRecords(line, records) {
  const ids = records.map((record) => record.id);
  way(ids);
  // Counted before the answer: whatever becomes of this try, the next one lets others go first.
  await outbox.change(ids, (record) => ({ tries: record.tries + 1 }));
  const { status, body } = await postRecords(line, records);
  if (status !== 200 || !body?.results) return apart(line, records, status, body);
  const results = new Map(body.results.map((result) => [result.id, result]));
  await outbox.change(ids, (record) => outcome(results.get(record.id)));
  const more = ids.some((id) => results.get(id)?.status === "stored");
  for (const id of ids) {
    const status = results.get(id)?.status;
    // It names another record that has not arrived: not at fault, and again in this round only after something has.
    if (status === "waiting") more || line.failed.add(id);
    else if (!DECIDED.has(status)) fail(line, id);
  }
  batch = Math.min(batch * 2, line.most);
}

// The server took nothing of the request: each record is tried alone, and alone it is at fault.
async function apart(line, records, status, body) {
  const alone = records.length === 1;
  batch = 1;
  if (!alone) return;
  if (status >= 500 || status === 200) return fail(line, records[0].id);
  const errors = body?.errors?.length ? body.errors : [{ field: "", message: `The server did not accept this record (${status}).` }];
  await outbox.change([records[0].id], () => ({ state: "refused", errors }));
}

function fail(line, id) {
  line.failed.add(id);
  if (line.failed.size >= FAILURES) throw trouble();
}

// ---- Photos --------------------------------------------------------------------------------------------------------

// Of a record that has arrived, or whose receipt is gone already.
async function nextPhoto(line, tried) {
  for (const photo of await photos.ofUser(line.user.id)) {
    if (photo.state !== "waiting" || !photo.record || tried.has(photo.id)) continue;
    const record = await outbox.get(photo.record);
    if (!record || record.state === "sent") return photo;
  }
  return null;
}

async function sendPhoto(line, photo) {
  way([photo.id]);
  const form = new FormData();
  for (const name of ["id", "record", "sha256", "taken_at", "caption", "user"]) form.append(name, photo[name]);
  form.append("file", await photos.blob(photo), `${photo.id}.jpg`);
  const { status, body } = await post("/field/photos", line, form);
  if (status >= 200 && status < 300) return body?.id === photo.id ? photos.drop(photo.id) : fail(line, photo.id);
  if (status === 409 && body?.status === "waiting") return null;
  if (status >= 500) return fail(line, photo.id);
  if (body?.status === "damaged" && photo.tries + 1 < DAMAGED) {
    await photos.tried(photo);
    return fail(line, photo.id);
  }
  const errors = body?.errors?.length ? body.errors : [{ field: "file", message: `The server did not take this photo (${status}).` }];
  return photos.refused(photo.id, errors);
}

// ---- The round -----------------------------------------------------------------------------------------------------

export async function round(known) {
  try {
    const line = await hello();
    known(line.user);
    for (let records = await nextBatch(line); records.length; records = await nextBatch(line)) await sendRecords(line, records);
    const tried = new Set();
    for (let photo = await nextPhoto(line, tried); photo; photo = await nextPhoto(line, tried)) {
      tried.add(photo.id);
      await sendPhoto(line, photo);
    }
    if (line.failed.size) throw trouble();
    await outbox.dropOldReceipts();
  } finally {
    way([]);
  }
}
