// The park that one works in: one of the packs on this tablet.
//
//   current() -> Promise<Pack|null>     null: no pack has been taken along
//   choose(code)                        tells "park" on the bus

import { tell } from "../bus.js";
import * as me from "../me.js";
import * as packs from "../packs.js";

export async function current() {
  const [all, chosen] = await Promise.all([packs.list(), me.kept("park")]);
  return all.find((pack) => pack.code === chosen) ?? all[0] ?? null;
}

export async function choose(code) {
  await me.keep("park", code);
  tell("park", code);
}
