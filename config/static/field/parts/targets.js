// What could be hit in a park: the targets of the pack, and those met on the walk.
//
//   targetsOf(code) -> Promise<[target]>       a new one has its record's id; changed in place by the adder
//   nearestTargets(targets, tree), away(target, tree) -> metres | null, targetWords(target, about) -> "constant use, 12 m by the map"
//   targetAdder({park, tables, targets, tree}) -> HTMLElement    a folded form; a target met here is kept at once

import * as outbox from "../outbox.js";
import * as packs from "../packs.js";
import { uuid7 } from "../uuid7.js";
import { clearFaults, fault, picks, text } from "./fields.js";
import { distanceM } from "./geo.js";
import { h, put } from "./h.js";
import { placed } from "./trees.js";
import { show } from "./units.js";
import { capital } from "./words.js";

export async function targetsOf(code) {
  const there = await packs.part(code, "targets");
  const names = new Set(there.map(({ name }) => name));
  const records = (await outbox.list({ mine: true })).filter(({ kind, payload }) => kind === "target" && payload.park === code);
  const met = records.map(({ id, payload }) => ({ ...payload, id })).filter(({ name }) => !names.has(name));
  return [...there, ...met];
}

export const away = (target, tree) => (placed(target) && placed(tree) ? distanceM(tree, target) : null);

export function nearestTargets(targets, tree) {
  const far = (target) => away(target, tree) ?? Infinity;
  return targets.toSorted((one, other) => far(one) - far(other));
}

export function targetWords(target, { tree, tables, units }) {
  const metres = away(target, tree);
  return [`${target.occupancy} use`, metres !== null && `${show(tables, metres, "m", units)} by the map`].filter(Boolean).join(", ");
}

const fresh = () => ({ id: uuid7(), name: "", kind: "", occupancy: "" });

function fields(target, tables) {
  const words = (list) => list.map((value) => ({ value, label: capital(value) }));
  const explained = tables.occupancy.map((value) => ({ value, label: capital(value), hint: tables.meaning.occupancy[value] }));
  return [
    text({ id: "new-target.name", label: "Name", hint: "As one would say it: play area, east bench, Mill Road.", value: "", most: tables.bounds.length.target, put: (typed) => (target.name = typed) }),
    picks({ id: "new-target.kind", legend: "Kind", options: words(tables.target_kinds), value: "", put: (kind) => (target.kind = kind), across: true }),
    picks({ id: "new-target.occupancy", legend: "How often people or property are there", options: explained, value: "", put: (word) => (target.occupancy = word) }),
  ];
}

const NEEDED = { name: "Name the target.", kind: "Pick its kind.", occupancy: "Pick how often it is used." };

export function targetAdder({ park, tables, targets, tree, added }) {
  const root = h("div", { class: "stack" });
  const said = h("p", { role: "status" });
  let target = fresh();

  const keep = async () => {
    clearFaults(root);
    const missing = Object.keys(NEEDED).filter((name) => !target[name].trim());
    for (const name of missing) fault(root, `new-target.${name}`, NEEDED[name]);
    if (missing.length) return;
    const { id, ...said_ } = { ...target, name: target.name.trim() };
    const payload = { park: park.code, ...said_, movable: false, lon: null, lat: null };
    await outbox.add({ id, kind: "target", payload, tree: tree.id, title: `${payload.name}, new target` });
    targets.push({ ...payload, id });
    target = fresh();
    draw();
    put(said, `${payload.name} can now be chosen as what it would hit.`);
    added();
  };
  const draw = () => put(root, h("details", h("summary", { class: "button toggle" }, "A target that is not listed"), h("div", { class: "sheet stack" }, fields(target, tables), h("button", { class: "button", type: "button", onclick: keep }, "Add the target"))), said);
  // Its fields are not the inspection's: they must not store that form.
  for (const name of ["input", "change"]) root.addEventListener(name, (event) => event.stopPropagation());
  draw();
  return root;
}
