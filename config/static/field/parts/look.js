// What an inspection's form holds, and the payload that it becomes.
//
//   freshLook({tree, route, title, corrects}) -> look       what the form holds: plain data, as typed and picked
//   freshAssessment(look) -> assessment                     with a key of its own within the look
//   foundOn(look, part) -> {kinds: {name: typed}, other, remark}
//   lookOf(payload, about, {tables, units}) -> look         a record as a form again, to correct or to mend it
//   picksOf(assessment, {tables, targets}) -> {occupancy, suggested, impact, failure, consequences, likelihood, rating}
//   touched(assessment) -> bool                             false: nothing was said, it is not sent
//   SIZES                                                   [field, stored unit]

import { lookUp, suggestedImpact } from "./rate.js";
import { typed } from "./units.js";

export const SIZES = [
  ["dbh_cm", "cm"],
  ["height_m", "m"],
  ["crown_spread_m", "m"],
];

const UNSAID = {
  part: "",
  failure_mode: "",
  failure: "",
  target: "",
  occupancy: "",
  exposure: "",
  impact: "",
  impact_reason: "",
  consequences: "",
  mitigation: "",
  residual_rating: "",
};

const UNMEASURED = { dbh_cm: null, height_m: null, crown_spread_m: null, dieback_pct: "" };

export const freshLook = (about) => ({
  ...about,
  begun_at: new Date().toISOString(),
  level: 2,
  condition: "",
  note: "",
  ...UNMEASURED,
  found: {},
  assessments: [],
});

export function freshAssessment({ assessments }) {
  const key = 1 + assessments.reduce((most, each) => Math.max(most, each.key), 0);
  return { key, ...UNSAID, time_frame_years: 1, distance_m: null };
}

export const touched = (assessment) => Object.keys(UNSAID).some((name) => assessment[name]);

export const foundOn = (look, part) => (look.found[part] ??= { kinds: {}, other: "", remark: "" });

export function picksOf(assessment, { tables, targets }) {
  const target = targets.find(({ id }) => String(id) === assessment.target);
  const occupancy = assessment.occupancy || target?.occupancy || "";
  const suggested = suggestedImpact(tables, { occupancy, exposure: assessment.exposure });
  const picks = { failure: assessment.failure, impact: assessment.impact || suggested, consequences: assessment.consequences };
  return { occupancy, suggested, ...picks, ...lookUp(tables, picks) };
}

// ---- From a record back to a form ------------------------------------------------------------------------------------

function foundOf(defects, { tables, units }) {
  const look = { found: {} };
  for (const { part, kind, value, unit, note } of defects) {
    const found = foundOn(look, part);
    const known = tables.defects.find((chapter) => chapter.part === part)?.kinds.some(({ name }) => name === kind);
    if (known) found.kinds[kind] = typed(tables, value ?? null, unit || "%", units);
    else found.other = [found.other, kind].filter(Boolean).join("; ");
    found.remark ||= note;
  }
  return look.found;
}

function assessmentOf(sent, key, { tables, units }) {
  const words = Object.fromEntries(Object.keys(UNSAID).map((name) => [name, String(sent[name] ?? "")]));
  const distance_m = typed(tables, sent.distance_m ?? null, "m", units);
  return { key, ...words, time_frame_years: sent.time_frame_years ?? 1, distance_m };
}

export function lookOf(payload, about, read) {
  const sizes = SIZES.map(([name, unit]) => [name, typed(read.tables, payload[name] ?? null, unit, read.units)]);
  return {
    ...freshLook(about),
    ...Object.fromEntries(sizes),
    begun_at: payload.observed_at ?? new Date().toISOString(),
    level: payload.level,
    condition: payload.condition,
    dieback_pct: String(payload.dieback_pct ?? ""),
    note: payload.note ?? "",
    found: foundOf(payload.defects ?? [], read),
    assessments: (payload.assessments ?? []).map((sent, at) => assessmentOf(sent, at + 1, read)),
  };
}
