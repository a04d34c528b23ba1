// Ways to lower the rating of an assessment: what would be done, what of the picks it changes, the rating that it leaves.
//
//   mending(assessment, about) -> {element, draw()}      draw() again when the picks of today have changed

import { picks, select, text, ticks } from "./fields.js";
import { h, put } from "./h.js";
import { AFTER, afterOf, freshOption, picksOf } from "./look.js";
import { rating } from "./rating.js";
import { capital } from "./words.js";

const WORDS = { failure: "Failure after that", impact: "Impact after that", consequences: "Consequences after that" };

const options = (first, words = []) => [{ value: "", label: first }, ...words.map((value) => ({ value, label: capital(value) }))];

function after(name, option, picks_, { tables }, id, changed) {
  const allowed = tables.mitigation.after[name][picks_[name]] ?? [];
  // What was picked before the picks of today went below it counts no more.
  if (!allowed.includes(option[name])) option[name] = "";
  return select({ id: `${id}.${name}`, label: WORDS[name], options: options("As now", allowed), value: option[name], put: (word) => changed(name, word) });
}

function left(option, picks_, { tables }, id, changed) {
  const { rating: word } = afterOf(option, picks_, tables);
  if (word) return h("p", { class: "cluster" }, "Leaves ", rating(word), " by the tables.");
  const allowed = tables.mitigation.after.rating[picks_.rating] ?? [];
  return select({ id: `${id}.residual_rating`, label: "Rating after that", options: options("Not said", allowed), value: option.residual_rating, put: (rated) => changed("residual_rating", rated) });
}

function option(kind, each, about) {
  const state = each.options[kind.value];
  const id = `a${each.key}.${kind.value}`;
  const rated = h("div", { role: "status" });
  const changed = (name, word) => {
    state[name] = word;
    if (name === "residual_rating") return;
    // The tables give the rating where it is said what changes.
    state.residual_rating = "";
    drawRated();
  };
  const now = picksOf(each, about);
  const drawRated = () => put(rated, left(state, picksOf(each, about), about, id, changed));
  const changes = kind.changes ? AFTER.map((name) => after(name, state, now, about, id, changed)) : [];
  drawRated();
  return h(
    "section",
    { class: "option", "aria-label": capital(kind.value) },
    h("h4", capital(kind.value)),
    now.rating ? h("div", { class: "form__row" }, changes, rated) : h("p", { class: "muted" }, "With the picks of today complete, say here what it would change."),
    text({ id: `${id}.note`, label: "Note on it", value: state.note, most: about.tables.bounds.length.option_note, optional: true, put: (typed) => (state.note = typed) }),
  );
}

export function mending(each, about) {
  const { kinds } = about.tables.mitigation;
  const list = h("div", { class: "stack" });
  const chosen = () => kinds.filter(({ value }) => value in each.options);
  const advised = () => {
    const all = chosen().map(({ value }) => ({ value, label: capital(value) }));
    return all.length > 1 && picks({ id: `a${each.key}.advised`, legend: "Which one is advised", options: all, value: each.advised, put: (kind) => (each.advised = kind), across: true });
  };
  const draw = () => put(list, chosen().map((kind) => option(kind, each, about)), advised());
  const tick = (kind, ticked) => {
    if (ticked) each.options[kind] = freshOption();
    else delete each.options[kind];
    draw();
  };
  draw();
  const boxes = kinds.map(({ value }) => ({ value, label: capital(value), ticked: value in each.options }));
  const element = h("div", { class: "stack", "data-field": `a${each.key}.options` }, h("p", { class: "field__name" }, "What would mend it"), ticks({ legend: "What would mend it", options: boxes, put: tick }), list);
  return { element, draw };
}
