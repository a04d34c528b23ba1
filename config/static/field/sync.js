// Sending: the outbox goes to the server when there is signal, one sender at a time on this tablet.
//
//   start()                     on opening the page: wires the occasions (opening, a save, signal, the page in sight, a timer)
//   send() -> Promise<State>    now
//   state() -> State            {phase, sentence, last_ok (ms|null), next_at (ms|null), user (name|null)}
//   sending() -> Set<id>        records and photos on their way at this moment
//   signOut()                   ends the session and leaves what is unsent on the tablet
//
// Phases: "idle" (all answered), "sending", "no-signal", "signed-out" (401: sign in again, nothing is lost), "too-old" (this
// page speaks an older language than the server takes), "trouble" (the server failed; tried again later).
// "sync" is told on the bus at each change.

import { on, tell } from "./bus.js";
import { fetchJson, NoSignal } from "./fetching.js";
import * as me from "./me.js";
import * as outbox from "./outbox.js";
import * as photos from "./photos.js";

export const SCHEMA = 1;
const HELLO_MS = 8_000;
const SEND_MS = 60_000;
const FIRST_PAUSE_MS = 5_000;
const LONGEST_PAUSE_MS = 300_000;
const BATCH_BYTES = 400_000;

let now = { phase: "idle", sentence: "", last_ok: null, next_at: null, user: null };
let onTheirWay = new Set();
let timer = null;
let failures = 0;
let batch = 20;
let running = null;
let again = false;

export const state = () => now;

export const sending = () => onTheirWay;

function show(change) {
  now = { ...now, ...change };
  tell("sync", now);
}

function way(ids) {
  onTheirWay = new Set(ids);
  tell("outbox");
}

// What ends a round of sending before all is sent.
class Stop extends Error {
  constructor(phase, sentence) {
    super(sentence);
    this.phase = phase;
  }
}

const TROUBLE = "The server could not take the records just now. They stay here and are tried again.";

// ---- One round -----------------------------------------------------------------------------------------------------

async function hello() {
  const before = Date.now();
  const { status, body } = await fetchJson("/field/hello", {}, HELLO_MS);
  if (status === 401) throw new Stop("signed-out", "Your login has ended.");
  if (status !== 200 || !body) throw new Stop("trouble", TROUBLE);
  const offset = Math.round(Date.parse(body.server_time) - (before + Date.now()) / 2);
  await me.remember(body, offset);
  tell("build", body.build);
  if (SCHEMA < body.schema_min) throw new Stop("too-old", "This page is too old for the server: start the new version, then send.");
  return { csrf: body.csrf, user: body.user, offset, most: body.limits?.records ?? 50 };
}

async function post(path, line, body, headers = {}) {
  const answer = await fetchJson(path, { method: "POST", body, headers: { "X-CSRFToken": line.csrf, ...headers } }, SEND_MS);
  if (answer.status === 401) throw new Stop("signed-out", "Your login has ended.");
  if (answer.status === 429 || answer.status >= 500) throw new Stop("trouble", TROUBLE);
  return answer;
}

const wire = ({ id, kind, recorded_at, payload }) => ({ id, kind, recorded_at, payload });

// The oldest first, but what failed before goes behind what was never tried: one bad record must not hold up the rest.
async function nextBatch(line) {
  const waiting = (await outbox.rows("waiting")).filter((record) => record.user === line.user.id);
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
const CONFLICT = [{ field: "", message: "The server already holds another record under this id. Mend it to send it under a new one." }];

// What becomes of a record by its answer; an answer that is missing or not understood leaves it waiting.
function outcome(result) {
  const { number = null, url = null, flags = [] } = result;
  const sent = { state: "sent", number, url, flags, errors: [], sent_at: Date.now(), form: null };
  const outcomes = {
    stored: sent,
    known: sent,
    refused: { state: "refused", errors: result.errors ?? [] },
    conflict: { state: "refused", errors: result.errors?.length ? result.errors : CONFLICT },
    forbidden: { state: "forbidden", errors: result.errors?.length ? result.errors : FORBIDDEN },
  };
  return outcomes[result.status] ?? {};
}

async function sendRecords(line, records) {
  const body = { schema: SCHEMA, device: await me.device(), clock_offset_ms: line.offset, records: records.map(wire) };
  const ids = records.map((record) => record.id);
  way(ids);
  // Counted before the answer: whatever becomes of this try, the next one lets others go first.
  await outbox.change(ids, (record) => ({ tries: record.tries + 1 }));
  const { status, body: answer } = await post("/field/records", line, JSON.stringify(body), { "Content-Type": "application/json" });
  if (status !== 200 || !answer?.results) return refuseWhole(records, status, answer);
  const results = new Map(answer.results.map((result) => [result.id, result]));
  await outbox.change(ids, (record) => outcome(results.get(record.id) ?? {}));
  batch = Math.min(batch * 2, line.most);
  if (!ids.some((id) => results.has(id))) throw new Stop("trouble", TROUBLE);
}

// The server took nothing of the request. Alone, the record is at fault; together, each is tried alone.
async function refuseWhole(records, status, answer) {
  if (status === 403) throw new Stop("trouble", TROUBLE); // the token was of another login: the next round asks for a new one
  if (records.length > 1) {
    batch = 1;
    return;
  }
  const message = answer?.errors?.[0]?.message ?? `The server did not accept this record (${status}).`;
  await outbox.change([records[0].id], () => ({ state: "refused", errors: answer?.errors ?? [{ field: "", message }] }));
}

// Photos whose record has arrived, or was never in this outbox any more.
async function nextPhoto(line, tried) {
  for (const photo of await photos.all()) {
    if (photo.user !== line.user.id || photo.state !== "waiting" || !photo.record || tried.has(photo.id)) continue;
    const record = await outbox.get(photo.record);
    if (!record || record.state === "sent") return photo;
  }
  return null;
}

async function sendPhoto(line, photo) {
  way([photo.id]);
  const form = new FormData();
  for (const name of ["id", "record", "sha256", "taken_at", "caption"]) form.append(name, photo[name]);
  form.append("file", await photos.blob(photo), `${photo.id}.jpg`);
  const { status, body } = await post("/field/photos", line, form);
  if (status >= 200 && status < 300 && body?.id === photo.id) return photos.drop(photo.id);
  if (status === 409 && body?.status === "waiting") return null;
  if (status === 403 && !body) throw new Stop("trouble", TROUBLE);
  const errors = body?.errors?.length ? body.errors : [{ field: "file", message: `The server did not take this photo (${status}).` }];
  return photos.refused(photo.id, errors);
}

async function round() {
  show({ phase: "sending", sentence: "" });
  const line = await hello();
  show({ user: line.user.name });
  for (let records = await nextBatch(line); records.length; records = await nextBatch(line)) await sendRecords(line, records);
  const tried = new Set();
  for (let photo = await nextPhoto(line, tried); photo; photo = await nextPhoto(line, tried)) {
    tried.add(photo.id);
    await sendPhoto(line, photo);
  }
  await outbox.dropOldReceipts();
}

// ---- Again and again -----------------------------------------------------------------------------------------------

const pause = () => Math.min(FIRST_PAUSE_MS * 2 ** (failures - 1), LONGEST_PAUSE_MS) * (0.5 + Math.random() / 2);

function plan() {
  clearTimeout(timer);
  const wait = failures ? pause() : LONGEST_PAUSE_MS;
  timer = setTimeout(send, wait);
  return Date.now() + wait;
}

function failed(error) {
  failures += 1;
  batch = Math.max(1, Math.floor(batch / 2));
  if (error instanceof Stop) return { phase: error.phase, sentence: error.message };
  if (error instanceof NoSignal) return { phase: "no-signal", sentence: "No signal. All is kept here and sent later." };
  return { phase: "trouble", sentence: `Sending stopped (${error.message}). All is kept here and tried again.` };
}

async function attempt() {
  try {
    await round();
    failures = 0;
    return { phase: "idle", sentence: "", last_ok: Date.now() };
  } catch (error) {
    return failed(error);
  }
}

async function exclusively() {
  do {
    again = false;
    const outcome = await navigator.locks.request("hingewood-send", { ifAvailable: true }, (lock) => lock && attempt());
    way([]);
    // Another page of this tablet is sending; it tells its state over the bus.
    show(outcome ? { ...outcome, next_at: plan() } : { next_at: plan() });
  } while (again && !failures);
  return now;
}

export function send() {
  if (running) again = true;
  running ??= exclusively().finally(() => (running = null));
  return running;
}

// Signal, or the page in sight again: the pause of earlier failures is over.
function afresh() {
  failures = 0;
  send();
}

export function start() {
  on("saved", send);
  window.addEventListener("online", afresh);
  window.addEventListener("pageshow", (event) => event.persisted && afresh());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && afresh());
  return send();
}

export async function signOut() {
  const { body } = await fetchJson("/field/hello", {}, HELLO_MS);
  if (body) await fetchJson("/logout/", { method: "POST", redirect: "manual", headers: { "X-CSRFToken": body.csrf } });
  await me.forget();
  show({ phase: "signed-out", sentence: "You are signed out.", user: null });
}
