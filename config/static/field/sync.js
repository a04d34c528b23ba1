// Sending: the outbox goes to the server when there is signal, one sender at a time on this tablet.
//
//   start()                     on opening the page: wires the occasions (a save, signal, the page in sight, a timer), sends
//   send() -> Promise<State>    now
//   state() -> State            {phase, sentence, last_ok (ms|null), next_at (ms|null), user (name|null)}
//   sending() -> Set<id>        records and photos on their way at this moment
//   signOut()                   ends the session and leaves what is unsent on the tablet
//
// Phases: "idle" (all answered), "sending", "no-signal", "signed-out" (401: sign in again, nothing is lost), "too-old" (this
// page speaks an older language than the server takes), "trouble" (the server failed; tried again later).
// "sync" is told on the bus at each change. The browser's word about being online is taken as a hint, never as the truth.

import { on, tell } from "./bus.js";
import { fetchJson, NoSignal } from "./fetching.js";
import * as me from "./me.js";
import { HELLO_MS, round, Stop } from "./round.js";

export { sending } from "./round.js";

const FIRST_PAUSE_MS = 5_000;
const LONGEST_PAUSE_MS = 300_000;

let now = { phase: "idle", sentence: "", last_ok: null, next_at: null, user: null };
let timer = null;
let failures = 0;
let running = null;
let again = false;

export const state = () => now;

function show(change) {
  now = { ...now, ...change };
  tell("sync");
}

// From 5 seconds to 5 minutes, and never all tablets at the same moment.
export const pause = (failed) => Math.min(FIRST_PAUSE_MS * 2 ** (failed - 1), LONGEST_PAUSE_MS) * (0.5 + Math.random() / 2);

function plan() {
  clearTimeout(timer);
  const wait = failures ? pause(failures) : LONGEST_PAUSE_MS;
  timer = setTimeout(send, wait);
  return Date.now() + wait;
}

function failed(error) {
  failures += 1;
  if (error instanceof Stop) return { phase: error.phase, sentence: error.message };
  if (error instanceof NoSignal) return { phase: "no-signal", sentence: "No signal. All is kept here and sent later." };
  console.error(error);
  return { phase: "trouble", sentence: `Sending stopped (${error.message}). All is kept here and tried again.` };
}

async function attempt() {
  show({ phase: "sending", sentence: "" });
  try {
    await round((user) => show({ user: user.name }));
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
    // Without the lock another page of this tablet is sending; the timer looks whether it left something.
    if (!outcome) failures = Math.max(failures, 1);
    show({ ...outcome, next_at: plan() });
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
  return send();
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
  if (body?.csrf) await fetchJson("/logout/", { method: "POST", redirect: "manual", headers: { "X-CSRFToken": body.csrf } });
  await me.forget();
  show({ phase: "signed-out", sentence: "You are signed out.", user: null });
}
