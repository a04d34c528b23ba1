// From picks to a rating, by the server's tables held as data. No rule stands here: only how to look up a cell.
//
//   lookUp(tables, {failure, impact, consequences}) -> {likelihood, rating}     null for what the picks do not reach yet
//   suggestion(tables, {occupancy, exposure, direction, scatters, beyond}) -> {impact, because, unexplained} | null
//   beyondReach(tables, {distance_m, height_m, scatters}) -> bool       false while one is not known
//   cells(picks, {likelihood, rating}) -> "probable × high → likely; likely × severe → high"
//   worst(tables, ratings) -> word | null

const cell = (row, words, word) => row?.[words.indexOf(word)] ?? null;

export function lookUp(tables, { failure, impact, consequences }) {
  const likelihood = cell(tables.likelihood[failure], tables.impact, impact);
  const rating = cell(tables.rating[likelihood], tables.consequences, consequences);
  return { likelihood, rating };
}

const wood = (scatters) => (scatters ? "scatters" : "whole");

export function beyondReach(tables, { distance_m, height_m, scatters }) {
  if (distance_m === null || height_m === null) return false;
  return distance_m > height_m * tables.zone.factor[wood(scatters)];
}

export const suggestion = (tables, { occupancy, exposure, direction, scatters, beyond }) =>
  tables.suggestion[occupancy]?.[exposure]?.[direction][wood(scatters)][beyond ? "beyond" : "within"] ?? null;

export function cells({ failure, impact, consequences }, { likelihood, rating }) {
  const first = likelihood && `${failure} × ${impact} → ${likelihood}`;
  const second = rating && `${likelihood} × ${consequences} → ${rating}`;
  return [first, second].filter(Boolean).join("; ");
}

export const worst = (tables, ratings) => tables.ratings.findLast((rating) => ratings.includes(rating)) ?? null;
