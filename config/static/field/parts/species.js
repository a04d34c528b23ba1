// A species by typing a piece of its name, common or Latin.
//
//   speciesPicker(state, {tables}, changed) -> HTMLElement     sets state.species (id or null) and state.species_said

import { h, put } from "./h.js";

const SHOWN = 8;

const words = ([, botanical, common]) => (common ? `${common}, ${botanical}` : botanical);

function matching(rows, typed) {
  const wanted = typed.trim().toLowerCase();
  if (wanted.length < 2) return [];
  const rank = ([, botanical, common]) => {
    const names = [common ?? "", botanical].map((name) => name.toLowerCase());
    if (names.some((name) => name.startsWith(wanted))) return 0;
    return names.some((name) => name.includes(wanted)) ? 1 : 2;
  };
  return rows.filter((row) => rank(row) < 2).sort((one, other) => rank(one) - rank(other)).slice(0, SHOWN);
}

export function speciesPicker(state, { tables }, changed) {
  const offers = h("div", { class: "cluster" });
  const said = h("p", { role: "status" });
  const input = h("input", { id: "species", type: "text", autocomplete: "off", value: state.species_said });
  const choose = (row) => {
    Object.assign(state, { species: row[0], species_said: words(row) });
    input.value = state.species_said;
    put(offers);
    put(said, `Chosen: ${state.species_said}.`);
    input.focus();
    changed();
  };
  input.addEventListener("input", () => {
    Object.assign(state, { species: null, species_said: input.value });
    const found = matching(tables.species.rows, input.value);
    put(offers, found.map((row) => h("button", { class: "button", type: "button", onclick: () => choose(row) }, words(row))));
    put(said, input.value.trim().length > 1 && !found.length ? "No species of the list has this in its name; leave it and write it in the note." : "");
  });
  return h(
    "div",
    { class: "field", "data-field": "species" },
    h("label", { for: "species" }, "Species", h("span", { class: "field__optional" }, " (may be left out)")),
    h("p", { class: "field__hint" }, "Type a piece of its common or Latin name."),
    input,
    offers,
    said,
  );
}
