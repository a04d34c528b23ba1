// What an inspection's form holds, and the payload that it becomes.
//
//   freshLook({tree, route, title, corrects}) -> look       what the form holds: plain data, as typed and picked
//   freshAssessment(look) -> assessment                     with a key of its own within the look
//   foundOn(look, part) -> {kinds: {name: typed}, other, remark}
//   lookOf(payload, about, {tables, units}) -> look         a record as a form again, to correct or to mend it
//   picksOf(assessment, {look, tables, targets, tree}) -> Picks
//     {occupancy, beyond, suggested: {impact, because, unexplained} | null, impact, failure, consequences, likelihood, rating}
//   optionsOf(assessment) -> [[kind, option]]               the ways to mend it, in the order in which they were ticked
//   afterOf(option, picks, tables) -> {likelihood, rating}  what an option leaves, by the tables; nulls when nothing changes
//   touched(assessment) -> bool                             false: nothing was said, it is not sent
//   SIZES                                                   [field, stored unit]

import { beyondReach, lookUp, suggestion } from "./rate.js";
import { glance, typed } from "./units.js";

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
  direction: "",
  impact: "",
  impact_reason: "",
  consequences: "",
};

export const AFTER = ["failure", "impact", "consequences"];

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
  return { key, ...UNSAID, time_frame_years: 1, distance_m: null, options: {}, advised: "" };
}

export const touched = (assessment) => Object.keys(UNSAID).some((name) => assessment[name]);

export const freshOption = () => ({ failure: "", impact: "", consequences: "", residual_rating: "", note: "" });

export const optionsOf = ({ options }) => Object.entries(options);

export const foundOn = (look, part) => (look.found[part] ??= { kinds: {}, other: "", remark: "" });

// The tree as this look finds it: what was typed so far goes before what is on record.
function fallOf({ distance_m }, { look, tables, tree }) {
  const scatters = Boolean(tree.scatters) || tables.scattering_conditions.includes(look.condition);
  const height_m = glance(tables, look.height_m, "m") ?? tree.height_m ?? null;
  return { scatters, height_m, distance_m: glance(tables, distance_m, "m") };
}

export function picksOf(assessment, about) {
  const { tables, targets } = about;
  const target = targets.find(({ id }) => String(id) === assessment.target);
  const occupancy = assessment.occupancy || target?.occupancy || "";
  const fall = fallOf(assessment, about);
  const beyond = beyondReach(tables, fall);
  const { exposure, direction } = assessment;
  const suggested = suggestion(tables, { occupancy, exposure, direction, scatters: fall.scatters, beyond });
  const picks = { failure: assessment.failure, impact: assessment.impact || suggested?.impact, consequences: assessment.consequences };
  return { occupancy, beyond, suggested, ...picks, ...lookUp(tables, picks) };
}

export function afterOf(option, picks, tables) {
  if (!AFTER.some((name) => option[name])) return { likelihood: null, rating: null };
  return lookUp(tables, Object.fromEntries(AFTER.map((name) => [name, option[name] || picks[name]])));
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
  const options = Object.fromEntries((sent.options ?? []).map(({ mitigation, chosen, ...option }) => [mitigation, { ...freshOption(), ...option }]));
  const advised = sent.options?.find(({ chosen }) => chosen)?.mitigation ?? "";
  return { key, ...words, time_frame_years: sent.time_frame_years ?? 1, distance_m, options, advised };
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
