// The service worker and new versions of this page.
//
//   start()            registers the worker, looks for a new one now and whenever the page comes in sight
//   waiting() -> bool  a new version is ready
//   apply() -> bool    start it; false while a form is open
//   hold() -> release()   a form that is open holds the new version back; call release() when it is left
//   held() -> bool
//
// "update" is told on the bus when a version is ready, "held" when forms open and close. The worker never touches the store.

import { on, tell } from "./bus.js";

const BUILD = document.documentElement.dataset.build;
const LOOK_EVERY_MS = 60_000;

let registration = null;
let holds = 0;
let lookedAt = 0;
let controlled = false;
let turned = false;

export const waiting = () => Boolean(registration?.waiting && controlled);

export const held = () => holds > 0;

export function hold() {
  holds += 1;
  tell("held");
  let open = true;
  return () => {
    if (!open) return;
    open = false;
    holds -= 1;
    tell("held");
    if (turned) reload();
  };
}

export function apply() {
  if (held() || !waiting()) return false;
  registration.waiting.postMessage("start");
  return true;
}

// Once, and never over an open form: another page of this tablet may have started the new version.
function reload() {
  if (!held()) location.reload();
}

function watch(worker) {
  worker?.addEventListener("statechange", () => worker.state === "installed" && tell("update"));
}

async function look() {
  if (Date.now() - lookedAt < LOOK_EVERY_MS) return;
  lookedAt = Date.now();
  await registration.update().catch(() => {});
}

export async function start() {
  if (!("serviceWorker" in navigator)) return;
  const workers = navigator.serviceWorker;
  controlled = Boolean(workers.controller);
  workers.addEventListener("controllerchange", () => {
    // The first worker takes over a page that is as new as itself.
    if (!controlled) controlled = true;
    else {
      turned = true;
      reload();
    }
  });
  registration = await workers.register("/field/sw.js", { scope: "/field/", updateViaCache: "none" });
  watch(registration.installing);
  registration.addEventListener("updatefound", () => watch(registration.installing));
  if (waiting()) tell("update");
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && look());
  on("build", (build) => {
    if (build && build !== BUILD) {
      lookedAt = 0;
      look();
    }
  });
}
