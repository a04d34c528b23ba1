// The tablet's store: IndexedDB, opened when needed, in tiny transactions.
//
//   read(stores, work) -> Promise        work({name: IDBObjectStore}) may await only ask(request)
//   write(stores, work) -> Promise       resolves with what work returned, once the transaction is on disk
//   ask(request) -> Promise              the result of one IDBRequest
//   NotSaved                             the error of a write that did not happen; its message is a sentence for people
//
// A store, its key and what lies in it:
//   outbox (id)    records, from waiting to sent          packs (key)  what is taken along, a row a park
//   photos (id)    what a photo is, without its bytes     parts (key)  the lists of a pack
//   bytes (id)     the bytes of a photo, ArrayBuffer      kept (name)  me, tables, parks, device, clock
//   drafts (key)   forms in the middle
//
// Traps: a browser may close the connection behind the page's back (it is opened again, once); a Blob in the store fails
// on many WebKit versions; a long transaction of a page in the background blocks all others.

const NAME = "hingewood-field";
const VERSION = 1;
// Only ever added to: a tablet may come back after weeks with all its work in an older shape.
const STORES = [
  ["outbox", "id", ["state", ["user", "state"]]],
  ["photos", "id", ["record", "draft", "user"]],
  ["bytes", "id", []],
  ["drafts", "key", []],
  ["packs", "key", []],
  ["parts", "key", []],
  ["kept", "name", []],
];

export class NotSaved extends Error {}

let opened = null;

function upgrade(db) {
  for (const [name, keyPath, indexes] of STORES) {
    if (db.objectStoreNames.contains(name)) continue;
    const store = db.createObjectStore(name, { keyPath });
    for (const path of indexes) store.createIndex(String(path), path);
  }
}

export function ask(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function forget(db) {
  db.close();
  opened = null;
}

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => upgrade(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new DOMException("another page holds an older version open", "UnknownError"));
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => forget(db);
      db.onclose = () => (opened = null);
      resolve(db);
    };
  });
  opened.catch(() => (opened = null));
  return opened;
}

// Put away with the page, so that a suspended page holds nothing that others wait for.
document.addEventListener("visibilitychange", async () => {
  if (document.visibilityState === "hidden" && opened) forget(await opened);
});

function ended(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new DOMException("the transaction was ended", "AbortError"));
  });
}

async function once(names, mode, work) {
  const db = await open();
  const transaction = db.transaction(names, mode, { durability: "strict" });
  const end = ended(transaction);
  end.catch(() => {});
  try {
    const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    const result = await work(stores);
    await end;
    return result;
  } catch (error) {
    if (transaction.error === null) abort(transaction);
    throw error;
  }
}

function abort(transaction) {
  try {
    transaction.abort();
  } catch {
    // Ended already.
  }
}

// What a dead connection throws; whatever the failed try did is undone with its transaction, so it may run again.
const LOST = new Set(["InvalidStateError", "UnknownError", "AbortError", "TransactionInactiveError"]);

async function run(names, mode, work) {
  try {
    return await once(names, mode, work);
  } catch (error) {
    if (!LOST.has(error?.name)) throw error;
    opened = null;
    return once(names, mode, work);
  }
}

export const read = (names, work) => run(names, "readonly", work);

export async function write(names, work) {
  try {
    return await run(names, "readwrite", work);
  } catch (error) {
    throw error instanceof NotSaved ? error : new NotSaved(sentence(error), { cause: error });
  }
}

function sentence(error) {
  return error?.name === "QuotaExceededError"
    ? "Not saved: this tablet has no room left. Send what waits, remove packs you do not need, then save again."
    : `Not saved: the tablet's store did not take it (${error?.name ?? "unknown"}). Leave the form open and save again.`;
}
