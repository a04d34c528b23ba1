// A rating as the other pages draw it: the word, its shade, one to four bars; and the way through both tables.
//
//   rating(word | null, {large}?) -> HTMLElement      null: not rated
//   imminent() -> HTMLElement                         the flag beside a rating
//   ratingPath({failure, impact, likelihood, consequences, rating}) -> HTMLElement

import { h, svg } from "./h.js";
import { capital } from "./words.js";

const BARS = ["low", "moderate", "high", "extreme"];
const HEIGHTS = [4, 7, 10.5, 14];

function bar(at, full) {
  const height = full ? HEIGHTS[at] : 1;
  return svg("rect", { x: at * 4.5, y: 14 - height, width: 3.5, height });
}

function bars(word) {
  const full = BARS.indexOf(word);
  const drawing = { class: "rating__bars", viewBox: "0 0 17 14", "aria-hidden": "true", focusable: "false" };
  return svg("svg", drawing, HEIGHTS.map((_, at) => bar(at, at <= full)));
}

export function rating(word, { large = false } = {}) {
  const size = large && "rating--large";
  if (!word) return h("span", { class: ["rating rating--none", size] }, "Not rated");
  return h("span", { class: [`rating rating--${word}`, size] }, bars(word), capital(word));
}

export const imminent = () => h("span", { class: "imminent" }, "Imminent");

const step = (name, value) =>
  h("li", h("span", { class: "rating-path__name" }, name), h("span", { class: "rating-path__value" }, value));

const sign = (drawn, said) =>
  h("li", { class: "rating-path__sign" }, h("span", { "aria-hidden": "true" }, drawn), h("span", { class: "visually-hidden" }, said));

export function ratingPath({ failure, impact, likelihood, consequences, rating: word }) {
  return h(
    "ol",
    { class: "rating-path" },
    step("Likelihood of failure", capital(failure)),
    sign("×", "with"),
    step("Likelihood of impact", capital(impact)),
    sign("→", "gives"),
    step("Failure and impact", capital(likelihood)),
    sign("×", "with"),
    step("Consequences", capital(consequences)),
    sign("→", "gives"),
    step("Rating", rating(word)),
  );
}
