// Packs: parks taken along.
//
//   parks() -> Promise<[{code, name, …}]>     parks to choose from; the last known when there is no signal
//   take(code), refresh(code) -> Promise<Pack>     fetch all; fetch what changed since (take when there is none)
//   refreshAll() -> Promise<void>
//   list() -> Promise<[Pack]>         {code, name, token, taken_at, refreshed_at (ms), size (bytes), counts: {part: rows}}
//   remove(code)
//   trees(code) -> Promise<[object]>  rows of the part "trees" as objects, held in memory: do not change them
//   part(code, name) -> Promise<[object] | value>      any part; one that is no table comes as the server sent it
//
// A pack belongs to who took it; another user of the tablet takes his own. All reject with NoPack (a sentence).

import { on, tell } from "./bus.js";
import { ask, read, write } from "./db.js";
import { fetchJson, NoSignal } from "./fetching.js";
import * as me from "./me.js";

const TIMEOUT_MS = 60_000;

export class NoPack extends Error {}

const inMemory = new Map();

on("packs", () => inMemory.clear());
on("me", () => inMemory.clear());

const prefix = async () => `${(await me.get())?.id ?? 0}/`;

const range = (start) => IDBKeyRange.bound(start, `${start}\uffff`);

export async function parks() {
  try {
    const { status, body } = await fetchJson("/field/parks");
    if (status === 200) await me.keep("parks", body.parks);
  } catch (error) {
    if (!(error instanceof NoSignal)) throw error;
  }
  return (await me.kept("parks")) ?? [];
}

export async function list() {
  const start = await prefix();
  const packs = await read(["packs"], (stores) => ask(stores.packs.getAll(range(start))));
  return packs.sort((one, other) => one.name.localeCompare(other.name));
}

async function get(code) {
  const key = (await prefix()) + code;
  return read(["packs"], (stores) => ask(stores.packs.get(key)));
}

async function fetchPack(code, since) {
  const query = since ? `?since=${encodeURIComponent(since)}` : "";
  const { status, body } = await fetchJson(`/field/pack/${encodeURIComponent(code)}${query}`, {}, TIMEOUT_MS).catch((error) => {
    throw error instanceof NoSignal ? new NoPack("No signal: what this tablet holds stays as it is.") : error;
  });
  if (status === 200) return body;
  throw new NoPack(REASONS[status] ?? `The server could not make the pack (${status}). Try again later.`);
}

const REASONS = {
  401: "Sign in first: your login has ended.",
  403: "Your role may not take this park along.",
  404: "The server knows no such park any more.",
};

const isTable = (part) => Array.isArray(part?.columns) && Array.isArray(part?.rows);

// The new rows in the place of the old ones of the same id, without those that are gone.
export function merged(old, fresh, gone = []) {
  if (!isTable(fresh) || !isTable(old)) return fresh ?? old;
  const id = Math.max(0, fresh.columns.indexOf("id"));
  const rows = new Map(old.rows.map((row) => [row[id], row]));
  for (const lost of gone) rows.delete(lost);
  for (const row of fresh.rows) rows.set(row[id], row);
  return { columns: fresh.columns, rows: [...rows.values()] };
}

const sameColumns = (one, other) => !isTable(one) || !isTable(other) || one.columns.join() === other.columns.join();

async function storedParts(key) {
  const rows = await read(["parts"], ({ parts }) => ask(parts.getAll(range(`${key}/`))));
  return Object.fromEntries(rows.map((row) => [row.name, row.part]));
}

function change(body, old) {
  if (body.full) return body.parts;
  const names = new Set([...Object.keys(old), ...Object.keys(body.parts)]);
  return Object.fromEntries([...names].map((name) => [name, merged(old[name], body.parts[name], body.gone?.[name])]));
}

async function keep(code, body) {
  const key = (await prefix()) + code;
  const [before, old] = [await get(code), await storedParts(key)];
  const parts = change(body, old);
  const pack = describe(key, code, body, parts, before);
  await write(["packs", "parts"], async (stores) => {
    await ask(stores.parts.delete(range(`${key}/`)));
    for (const [name, part] of Object.entries(parts)) await ask(stores.parts.put({ key: `${key}/${name}`, name, part }));
    await ask(stores.packs.put(pack));
  });
  tell("packs", code);
  return pack;
}

function describe(key, code, body, parts, before) {
  const now = Date.now();
  const counts = Object.fromEntries(Object.entries(parts).map(([name, part]) => [name, isTable(part) ? part.rows.length : (part?.length ?? null)]));
  const size = new Blob([JSON.stringify(parts)]).size;
  const taken_at = body.full ? now : before.taken_at;
  return { key, code, name: body.park.name, token: body.token, taken_at, refreshed_at: now, size, counts };
}

export const take = async (code) => keep(code, await fetchPack(code));

export async function refresh(code) {
  const pack = await get(code);
  if (!pack) return take(code);
  const body = await fetchPack(code, pack.token);
  // A newer program may send other columns: then the whole pack comes again.
  const old = await storedParts(pack.key);
  const fits = body.full || Object.entries(body.parts).every(([name, part]) => sameColumns(old[name], part));
  return fits ? keep(code, body) : take(code);
}

export async function refreshAll() {
  for (const pack of await list()) await refresh(pack.code);
}

export async function remove(code) {
  const key = (await prefix()) + code;
  await write(["packs", "parts"], async (stores) => {
    await ask(stores.packs.delete(key));
    await ask(stores.parts.delete(range(`${key}/`)));
  });
  tell("packs", code);
}

const objects = ({ columns, rows }) => rows.map((row) => Object.fromEntries(columns.map((column, at) => [column, row[at]])));

export async function part(code, name) {
  const key = `${await prefix()}${code}/${name}`;
  if (!inMemory.has(key)) {
    const row = await read(["parts"], ({ parts }) => ask(parts.get(key)));
    inMemory.set(key, isTable(row?.part) ? objects(row.part) : (row?.part ?? []));
  }
  return inMemory.get(key);
}

export const trees = (code) => part(code, "trees");
