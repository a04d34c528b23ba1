// What the picks of one assessment lead to so far: the suggestion, the way through the tables, what to think of.
//
//   outcome(assessment, picks, {tables, tree}) -> [node]

import { h } from "./h.js";
import { cells } from "./rate.js";
import { rating, ratingPath } from "./rating.js";
import { read } from "./units.js";

const suggestion = ({ suggested, occupancy }, exposure) =>
  suggested && h("p", "Suggested likelihood of impact: ", h("strong", suggested), h("span", { class: "muted" }, ` (${occupancy} use, ${exposure})`));

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

function metres(tables, given) {
  try {
    return read(tables, given, "m");
  } catch {
    return null;
  }
}

// The sentences are the server's, and so is what they ask: which failure is urgent, how far the tree reaches.
function advice(assessment, picks, { tables, tree }) {
  const { advice: said } = tables;
  const distance = metres(tables, assessment.distance_m);
  const beyond = distance !== null && tree.reach_m && distance > tree.reach_m;
  return [
    picks.failure && tree.long_dead && said.long_dead.unlikely.includes(picks.failure) && said.long_dead.sentence,
    beyond && picks.impact && !said.out_of_reach.fits.includes(picks.impact) && said.out_of_reach.sentence,
  ].filter(Boolean);
}

export function outcome(assessment, picks, about) {
  const urgent = about.tables.advice.imminent;
  return [
    suggestion(picks, assessment.exposure),
    way(picks),
    picks.failure === urgent.failure && h("p", { class: "urgent" }, urgent.sentence),
    advice(assessment, picks, about).map((sentence) => h("p", { class: "advice" }, sentence)),
  ];
}
