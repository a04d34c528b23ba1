// What the picks of one assessment lead to so far: the way through the tables, and what to think of.
//
//   outcome(picks, {tables, tree}) -> [node]
//   urgent(tables, failure) -> HTMLElement | false      the call to act at once

import { h } from "./h.js";
import { cells } from "./rate.js";
import { rating, ratingPath } from "./rating.js";

function way(picks) {
  if (picks.rating) {
    return [
      h("p", { class: "outcome__rating" }, rating(picks.rating, { large: true })),
      h("p", { class: "outcome__cells" }, cells(picks, picks)),
      h("details", h("summary", { class: "toggle" }, "The way through both tables"), ratingPath(picks)),
    ];
  }
  if (picks.likelihood) return h("p", `${cells(picks, picks)}. Pick the consequences to see the rating.`);
  return !picks.suggested && h("p", { class: "muted" }, "Target and exposure suggest the likelihood of impact; with the other picks the rating shows here.");
}

// The sentences are the server's, and so are the picks that call for them.
const called = ({ words, sentence }, word) => words.includes(word) && sentence;

function advice(picks, { tables, tree }) {
  const { long_dead, out_of_reach } = tables.advice;
  return [tree.long_dead && called(long_dead, picks.failure), picks.beyond && called(out_of_reach, picks.impact)].filter(Boolean);
}

export const urgent = ({ advice: { urgent: said } }, failure) => called(said, failure) && h("p", { class: "urgent" }, said.sentence);

export function outcome(picks, about) {
  return [way(picks), urgent(about.tables, picks.failure), advice(picks, about).map((sentence) => h("p", { class: "advice" }, sentence))];
}
