// From the form of an inspection to the record that is sent.
//
//   recordOf({look, tables, targets, tree, units}) -> {payload, faults: [{field, message}]}
//     faults: what keeps it from being kept, each with the id of its field; empty when all is said
//
// Whether a record is sound is the server's to say. Here stands only what the form needs to be read: a pick that is missing,
// a figure that is no figure or beyond the server's bounds.

import { optionsOf, picksOf, SIZES, touched } from "./look.js";
import { isConverted, NotAMeasure, read, show } from "./units.js";

class Reading {
  constructor(about) {
    Object.assign(this, about);
    this.faults = [];
  }

  needs(value, field, message) {
    if (!value) this.faults.push({ field, message });
    return value;
  }

  // A typed figure in the stored unit, within the server's bounds.
  figure(given, unit, field, [low, high]) {
    try {
      const value = read(this.tables, given, unit);
      if (value === null || (low <= value && value <= high)) return value;
      this.faults.push({ field, message: `${given.text} is out of range; give ${this.shown(low, unit)} to ${this.shown(high, unit)}.` });
    } catch (error) {
      if (!(error instanceof NotAMeasure)) throw error;
      this.faults.push({ field, message: error.message });
    }
    return null;
  }

  shown(value, unit) {
    return isConverted(this.tables, unit) ? show(this.tables, value, unit, this.units) || `0 ${unit}` : `${value} ${unit}`;
  }

  finding(part, { name, measure }, given) {
    const value = measure && given ? this.figure(given, measure.unit, `${part}.${name}`, [0, measure.maximum]) : null;
    return { part, kind: name, value, unit: value === null ? "" : measure.unit, note: "" };
  }

  // The remark goes with the first finding.
  found({ part, kinds }, { kinds: ticked, other, remark }) {
    const findings = kinds.filter(({ name }) => name in ticked).map((kind) => this.finding(part, kind, ticked[kind.name]));
    const more = other.trim() || (remark.trim() && !findings.length && "other finding");
    if (more) findings.push({ part, kind: more, value: null, unit: "", note: "" });
    if (findings.length) findings[0].note = remark.trim();
    return findings;
  }

  assessment(given) {
    const at = (name) => `a${given.key}.${name}`;
    const { suggested, impact } = picksOf(given, this);
    this.needs(given.part, at("part"), "Pick the part that could fail.");
    this.needs(given.failure_mode.trim(), at("failure_mode"), "Say how it would fail, for example: breaking at the cavity.");
    this.needs(given.failure, at("failure"), "Pick the likelihood of failure.");
    this.needs(given.target, at("target"), "Choose what it would hit.");
    this.needs(given.exposure, at("exposure"), "Pick how exposed the target is.");
    this.needs(given.consequences, at("consequences"), "Pick the consequences.");
    const plain = !suggested || suggested.unexplained.includes(impact);
    if (!plain) this.needs(given.impact_reason.trim(), at("impact_reason"), `The suggestion is ${suggested.impact}; say why it does not hold here.`);
    const options = optionsOf(given);
    if (options.length > 1) this.needs(given.advised in given.options, at("advised"), "Say which of the ways to mend it is advised.");
    return {
      part: given.part,
      failure_mode: given.failure_mode.trim(),
      time_frame_years: Number(given.time_frame_years),
      failure: given.failure,
      // The server's own targets have numbers, those met on the walk the id of their record.
      target: this.targets.find(({ id }) => String(id) === given.target)?.id ?? null,
      occupancy: given.occupancy,
      distance_m: this.figure(given.distance_m, "m", at("distance_m"), this.tables.bounds.distance_m),
      exposure: given.exposure,
      direction: given.direction,
      impact,
      impact_reason: given.impact_reason.trim(),
      consequences: given.consequences,
      options: options.map(([mitigation, option]) => ({ mitigation, ...option, note: option.note.trim(), chosen: options.length === 1 || mitigation === given.advised })),
    };
  }

  record() {
    const { look } = this;
    const { bounds, defects } = this.tables;
    const sizes = SIZES.map(([name, unit]) => [name, this.figure(look[name], unit, name, bounds[name])]);
    this.needs(look.condition, "condition", "Pick the condition of the tree.");
    return {
      tree: look.tree,
      supersedes: look.corrects ?? null,
      observed_at: look.begun_at,
      level: Number(look.level),
      condition: look.condition,
      dieback_pct: this.figure({ text: look.dieback_pct }, "%", "dieback_pct", bounds.dieback_pct),
      ...Object.fromEntries(sizes),
      note: look.note.trim(),
      defects: defects.flatMap((chapter) => (look.found[chapter.part] ? this.found(chapter, look.found[chapter.part]) : [])),
      assessments: look.assessments.filter(touched).map((each) => this.assessment(each)),
    };
  }
}

export function recordOf(about) {
  const reading = new Reading(about);
  return { payload: reading.record(), faults: reading.faults };
}
