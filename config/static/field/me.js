// Who works on this tablet, as the server last said; kept for the hours without signal.
//
//   get() -> Promise<{id, name, may: [permission values], limits} | null>      null: nobody has signed in here yet
//   may(permission) -> Promise<boolean>
//   remember(hello), forget()          by sync.js alone
//   device() -> Promise<string>        this tablet's own id, made once
//   clockOffset() -> Promise<number | null>     server minus tablet, milliseconds, measured at the last contact
//   kept(name), keep(name, value)      small things of the tablet by name

import { tell } from "./bus.js";
import { ask, read, write } from "./db.js";
import { uuid7 } from "./uuid7.js";

export const kept = (name) => read(["kept"], async ({ kept: store }) => (await ask(store.get(name)))?.value ?? null);

export const keep = (name, value) => write(["kept"], ({ kept: store }) => ask(store.put({ name, value })));

export const get = () => kept("me");

export const may = async (permission) => (await get())?.may.includes(permission) ?? false;

export const clockOffset = () => kept("clock");

export async function device() {
  return write(["kept"], async ({ kept: store }) => {
    const known = await ask(store.get("device"));
    if (known) return known.value;
    const value = uuid7();
    await ask(store.put({ name: "device", value }));
    return value;
  });
}

export async function remember(hello, offsetMs) {
  const before = await get();
  await keep("me", { ...hello.user, may: hello.may, limits: hello.limits ?? {} });
  await keep("clock", offsetMs);
  if (before?.id !== hello.user.id) tell("me");
}

export async function forget() {
  await keep("me", null);
  tell("me");
}
