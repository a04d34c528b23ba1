// Room on the tablet: asked to be kept, watched, and warned of in time.
//
//   keep() -> Promise<boolean>     asks the browser not to clear this store on its own
//   look() -> Promise<Room>        {used, quota, free (bytes), low: boolean, persisted: boolean, sentence}
//   start()                        both, now and after each save; tells "storage" on the bus

import { on, tell } from "./bus.js";

const LOW_BYTES = 200 * 1024 * 1024;
let room = { used: 0, quota: 0, free: Infinity, low: false, persisted: false, sentence: "" };

export const now = () => room;

export const keep = async () => (await navigator.storage.persisted()) || navigator.storage.persist();

const mega = (bytes) => `${Math.round(bytes / 1024 / 1024)} MB`;

export async function look() {
  const { usage = 0, quota = Infinity } = await navigator.storage.estimate();
  const free = quota - usage;
  const low = free < LOW_BYTES;
  const sentence = low
    ? `Only ${mega(free)} of room left on this tablet. Send what waits, and remove packs you do not need, before you go on.`
    : "";
  room = { used: usage, quota, free, low, persisted: await navigator.storage.persisted(), sentence };
  tell("storage");
  return room;
}

export async function start() {
  on("saved", look);
  on("packs", look);
  await keep();
  return look();
}
