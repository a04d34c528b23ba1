// Where one starts: among the trees of the park; without a park, at the packs.

import { go } from "../parts/go.js";
import { choose, current } from "../parts/park.js";

export async function show() {
  go((await current()) ? "/find" : "/packs", { replace: true });
}

// From the list of packs into one of them.
export async function enter(root, { code }) {
  await choose(code);
  go("/find", { replace: true });
}
