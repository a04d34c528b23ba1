// What could fail and what it would hit: an assessment a failure mode and target, its rating shown at every pick.
//
//   assessments(look, about) -> {element, draw(), suggestAgain()}
//     draw() again when the targets have changed, suggestAgain() when the tree's height or condition has
//     about: {look, tables, units, tree, targets, changed()}; changed() after each pick, for what shows the rating elsewhere

import { length, picks, text } from "./fields.js";
import { h, put } from "./h.js";
import { foundOn, freshAssessment, picksOf } from "./look.js";
import { mending } from "./options.js";
import { outcome } from "./outcome.js";
import { away, nearestTargets, targetWords } from "./targets.js";
import { offered, own, show, typed } from "./units.js";
import { capital, times } from "./words.js";

const TARGETS_FIRST = 8;

const bare = (words) => words.map((value) => ({ value, label: capital(value) }));

const explained = (words, meaning) => words.map((value) => ({ value, label: capital(value), hint: meaning[value] }));

// The parts on which something was found come first.
function partOptions({ parts }, look) {
  const found = (part) => Object.keys(look.found[part]?.kinds ?? {}).length > 0;
  return [...parts.filter(found), ...parts.filter((part) => !found(part))].map((part) => ({ value: part, label: capital(part), hint: found(part) && Object.keys(foundOn(look, part).kinds).join(", ") }));
}

function failureMode(each, look, about, redraw) {
  const put = (typed) => (each.failure_mode = typed);
  const field = text({ id: `a${each.key}.failure_mode`, label: "How it would fail", value: each.failure_mode, most: about.tables.bounds.length.failure_mode, put });
  const input = field.querySelector("input");
  const kinds = Object.keys(look.found[each.part]?.kinds ?? {});
  const offer = (kind) =>
    h("button", { class: "button", type: "button", onclick: () => fill(`failing at the ${kind}`) }, `At the ${kind}`);
  const fill = (words) => {
    input.value = words;
    put(words);
    input.dispatchEvent(new Event("change", { bubbles: true }));
    redraw();
  };
  if (kinds.length) field.append(h("div", { class: "cluster" }, kinds.map(offer)));
  return field;
}

const targetOption = (target, about) => ({ value: String(target.id), label: target.name, hint: targetWords(target, about) });

function targetPicks(each, about, choose) {
  const root = h("div", { class: "stack" });
  const options = nearestTargets(about.targets, about.tree).map((target) => targetOption(target, about));
  const near = options.slice(0, TARGETS_FIRST);
  const chosen = options.filter(({ value }) => value === each.target && !near.some((option) => option.value === value));
  const draw = (shown) =>
    put(
      root,
      picks({ id: `a${each.key}.target`, legend: "What it would hit", options: shown, value: each.target, put: choose }),
      shown.length < options.length && h("button", { class: "button", type: "button", onclick: () => draw(options) }, `All ${options.length} targets of the park`),
      !options.length && h("p", { class: "muted" }, "No target of this park is known; add one under “Site and targets”."),
    );
  draw([...near, ...chosen]);
  return root;
}

function distance(each, about, changed) {
  const { tables, units, tree, targets } = about;
  const element = h("div");
  each.distance_m ??= { text: "", unit: own(tables, "m", units) };
  const put_ = (value) => {
    each.distance_m = value;
    changed();
  };
  const byMap = () => {
    const target = targets.find(({ id }) => String(id) === each.target);
    const metres = target ? away(target, tree) : null;
    if (metres === null || each.distance_m.text) return null;
    return h("button", { class: "button", type: "button", onclick: () => take(metres) }, `${show(tables, metres, "m", units)} by the map`);
  };
  const draw = () =>
    put(element, length({ id: `a${each.key}.distance_m`, label: "Distance to it", value: each.distance_m, units: offered(tables, "m"), optional: true, put: put_ }), byMap());
  const take = (metres) => {
    put_(typed(tables, Math.round(metres * 10) / 10, "m", units));
    draw();
    element.querySelector("input").focus();
    element.dispatchEvent(new Event("change", { bubbles: true }));
  };
  draw();
  return { element, draw };
}

function impactPicks(each, about, choose) {
  const { suggested } = picksOf(each, about);
  const options = about.tables.impact.map((word) => ({ value: word, label: capital(word), hint: word === suggested?.impact && "suggested" }));
  const hint = suggested ? suggested.because.join("; ") : "Target and exposure suggest it.";
  return picks({ id: `a${each.key}.impact`, legend: "Likelihood of impact", options, value: each.impact || suggested?.impact, put: choose, hint, across: true });
}

function reason(each, { suggested, impact }, { tables }) {
  if (!suggested || suggested.unexplained.includes(impact)) return null;
  return text({ id: `a${each.key}.impact_reason`, label: "Why not as suggested", value: each.impact_reason, most: tables.bounds.length.impact_reason, put: (typed) => (each.impact_reason = typed) });
}

function card(each, number, look, about, remove) {
  const { tables } = about;
  const at = (name) => `a${each.key}.${name}`;
  const parts = { mode: h("div"), target: h("div"), impact: h("div"), reason: h("div"), outcome: h("div", { class: "outcome", role: "status" }) };
  const mend = mending(each, about);
  // Only what depends on a pick is drawn again, so that no field loses the finger that is on it.
  const follow = () => {
    const now = picksOf(each, about);
    put(parts.reason, reason(each, now, about));
    put(parts.outcome, outcome(now, about));
    mend.draw();
    about.changed();
  };
  const drawMode = () => put(parts.mode, failureMode(each, look, about, follow));
  const drawImpact = () => put(parts.impact, impactPicks(each, about, pickImpact));
  const suggestAgain = () => {
    drawImpact();
    follow();
  };
  const pick = (name, then = follow) => (value) => {
    each[name] = value;
    then();
  };
  // The suggestion itself is no departure from it.
  const pickImpact = (value) => {
    each.impact = value === picksOf(each, about).suggested?.impact ? "" : value;
    follow();
  };
  const far = distance(each, about, suggestAgain);
  const chooseTarget = (value) => {
    each.target = value;
    far.draw();
    suggestAgain();
  };
  drawMode();
  put(parts.target, targetPicks(each, about, chooseTarget));
  const element = h(
    "section",
    { class: "sheet assessment", "aria-labelledby": `a${each.key}` },
    h("h3", { id: `a${each.key}`, tabindex: "-1" }, `Assessment ${number}`),
    picks({ id: at("part"), legend: "What could fail", options: partOptions(tables, look), value: each.part, put: pick("part", drawMode), across: true }),
    parts.mode,
    picks({ id: at("failure"), legend: "Likelihood of failure", options: explained(tables.failure, tables.meaning.failure), value: each.failure, put: pick("failure") }),
    parts.target,
    far.element,
    picks({ id: at("exposure"), legend: "How exposed it is", options: explained(tables.exposure, tables.meaning.exposure), value: each.exposure, put: pick("exposure", suggestAgain) }),
    picks({ id: at("direction"), legend: "Where it would most likely fall", options: directions(tables), value: each.direction, put: pick("direction", suggestAgain), optional: true }),
    parts.impact,
    parts.reason,
    picks({ id: at("consequences"), legend: "Consequences", options: explained(tables.consequences, tables.meaning.consequences), value: each.consequences, put: pick("consequences") }),
    unusual(each, tables, pick, suggestAgain),
    parts.outcome,
    mend.element,
    h("button", { class: "button button--quiet", type: "button", onclick: remove }, "Leave this assessment out"),
  );
  suggestAgain();
  return { element, suggestAgain };
}

const directions = ({ direction, meaning }) => [{ value: "", label: "Not said" }, ...direction.map((word) => ({ value: word, label: capital(word), hint: meaning.direction[word] }))];

// What is seldom other than usual stays folded.
function unusual(each, tables, pick, suggestAgain) {
  const uses = [{ value: "", label: "As usual" }, ...bare(tables.occupancy)];
  return h(
    "details",
    { open: Boolean(each.occupancy) || each.time_frame_years > 1 },
    h("summary", { class: "toggle" }, "Another time frame, another use that day"),
    h(
      "div",
      { class: "stack" },
      picks({ id: `a${each.key}.time_frame_years`, legend: "Within", options: years(tables), value: String(each.time_frame_years), put: pick("time_frame_years"), across: true }),
      picks({ id: `a${each.key}.occupancy`, legend: "Use that day", options: uses, value: each.occupancy, put: pick("occupancy", suggestAgain), across: true }),
    ),
  );
}

function years({ bounds }) {
  const [least, most] = bounds.time_frame_years;
  return Array.from({ length: most - least + 1 }, (_, at) => ({ value: String(least + at), label: times(least + at, "year") }));
}

export function assessments(look, about) {
  const list = h("div", { class: "stack" });
  const add = h("button", { class: "button", type: "button", onclick: () => grow() }, "Add what could fail");
  const tell = () => list.dispatchEvent(new Event("change", { bubbles: true }));
  let cards = [];
  const draw = () => {
    cards = look.assessments.map((each, at) => card(each, at + 1, look, about, () => shrink(each)));
    put(list, cards.map(({ element }) => element));
    add.textContent = look.assessments.length ? "Add another assessment" : "Add what could fail";
    add.hidden = look.assessments.length >= about.tables.bounds.assessments;
    about.changed();
  };
  function grow() {
    look.assessments.push(freshAssessment(look));
    draw();
    list.lastElementChild.querySelector("h3").focus();
    tell();
  }
  function shrink(gone) {
    look.assessments = look.assessments.filter((each) => each !== gone);
    draw();
    add.focus();
    tell();
  }
  draw();
  const element = h(
    "section",
    { class: "chapter", "aria-labelledby": "assessments" },
    h("h2", { id: "assessments", tabindex: "-1" }, "What could fail, and what it would hit"),
    h("p", { class: "muted" }, "One assessment for each part that could fail and each target it could hit. The tree takes the highest rating."),
    list,
    add,
  );
  // How high and in what condition the tree is says how far it reaches.
  const suggestAgain = () => cards.forEach((each) => each.suggestAgain());
  return { element, draw, suggestAgain };
}
