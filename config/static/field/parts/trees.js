// The trees of a park as one finds them: those of the pack, and those found in the field that the pack does not know yet.
//
//   all(code) -> Promise<[tree]>       rows of the pack with `name` and `latin`; a new one has `found: true` and its record's id
//   one(code, id) -> Promise<tree | null>
//   byDistance(trees, place), search(trees, typed) -> [tree]      tagOf(tree), stands(tree), placed(tree)

import * as outbox from "../outbox.js";
import * as packs from "../packs.js";
import * as tables from "../tables.js";
import { distanceM } from "./geo.js";

let known = { rows: null, trees: null };

async function speciesById() {
  const { species } = (await tables.get()) ?? {};
  return new Map((species?.rows ?? []).map(([id, botanical, common]) => [id, { botanical, common }]));
}

function named(tree, species) {
  const { botanical = "", common = "" } = species.get(tree.species) ?? {};
  const latin = [botanical, tree.cultivar && `‘${tree.cultivar}’`].filter(Boolean).join(" ");
  return { ...tree, latin, name: common || latin || "Species unknown" };
}

async function ofPack(code) {
  const rows = await packs.trees(code);
  if (known.rows !== rows) {
    const species = await speciesById();
    known = { rows, trees: rows.map((tree) => named(tree, species)) };
  }
  return known.trees;
}

// A record that was sent is in the pack only after its next refresh.
async function foundHere(code, there) {
  const tags = new Set(there.map((tree) => tree.tag));
  const species = await speciesById();
  const records = (await outbox.list({ mine: true })).filter(({ kind, payload }) => kind === "tree" && payload.park === code);
  return records
    .filter(({ number }) => !number || !tags.has(number))
    .map(({ id, number, payload }) => named({ ...payload, id, tag: number ?? payload.tag ?? "", status: "standing", rating: null, found: true }, species));
}

export async function all(code) {
  const there = await ofPack(code);
  return [...(await foundHere(code, there)), ...there];
}

export const one = async (code, id) => (await all(code)).find((tree) => String(tree.id) === String(id)) ?? null;

export const tagOf = (tree) => tree.tag || "New tree";

export const stands = (tree) => tree.status !== "removed";

export const placed = (tree) => tree.lon !== null && tree.lon !== undefined;

// Nearest first; those without a position at the end.
export function byDistance(trees, place) {
  const far = new Map(trees.map((tree) => [tree, placed(tree) ? distanceM(place, tree) : Infinity]));
  return trees.toSorted((one, other) => far.get(one) - far.get(other));
}

// The tag itself, tags that begin so, then tags and names that hold the words.
export function search(trees, typed) {
  const wanted = typed.trim().toLowerCase();
  if (!wanted) return trees;
  const rank = (tree) => {
    const tag = tree.tag.toLowerCase();
    if (tag === wanted) return 0;
    if (tag.startsWith(wanted)) return 1;
    if (tag.includes(wanted)) return 2;
    return `${tree.name} ${tree.latin}`.toLowerCase().includes(wanted) ? 3 : 4;
  };
  const ranked = trees.map((tree) => [rank(tree), tree]).filter(([place]) => place < 4);
  return ranked.sort(([one], [other]) => one - other).map(([, tree]) => tree);
}
