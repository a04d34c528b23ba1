// Fields for gloves: each target large, each field tied to its words. A field tells each change at once and keeps nothing.
//
//   field({id, label, hint?, optional?}, control) -> HTMLElement           label, hint and room for faults around a control
//   text({id, label, value, put, hint?, optional?, rows?, most?, type?})   put(text) at each key
//   whole({id, label, unit, value, put, …})                                digits only, kept as typed
//   length({id, label, value, put, units, …})                              value {text, unit}; units to choose from
//   select({id, label, options, value, put, …})                            one of a few, in little room
//   picks({id, legend, options, value, put, hint?, optional?, across?})    one of [{value, label, hint?}], as large buttons
//   ticks({legend, options, put})                                          any of [{value, label, ticked}]: put(value, ticked)
//   fault(root, id, sentence), clearFaults(root)                           says a fault at its field

import { h } from "./h.js";

const hintId = (id) => `${id}-hint`;

const optionalWords = (optional) => optional && h("span", { class: "field__optional" }, " (may be left out)");

const hintLine = (id, hint) => hint && h("p", { class: "field__hint", id: hintId(id) }, hint);

export function field({ id, label, hint, optional }, ...control) {
  return h(
    "div",
    { class: "field", "data-field": id },
    h("label", { for: id }, label, optionalWords(optional)),
    hintLine(id, hint),
    h("div", { class: "field__control" }, control),
  );
}

const described = ({ id, hint }) => ({ id, "aria-describedby": hint && hintId(id) });

export function text({ value = "", put, rows, most, type = "text", ...about }) {
  const attrs = { ...described(about), value, maxlength: most, autocomplete: "off", oninput: (event) => put(event.target.value) };
  return field(about, rows ? h("textarea", { ...attrs, rows }) : h("input", { ...attrs, type }));
}

export function whole({ value = "", put, unit, ...about }) {
  const attrs = { ...described(about), value, type: "text", inputmode: "numeric", class: "short", autocomplete: "off" };
  return field(about, h("div", { class: "measure" }, h("input", { ...attrs, oninput: (event) => put(event.target.value) }), h("span", unit)));
}

const unitSelect = (label, units, value, put) =>
  h("select", { "aria-label": `Unit of ${label}`, value, onchange: (event) => put(event.target.value) }, units.map((unit) => h("option", { value: unit }, unit)));

export function length({ value, put, units, ...about }) {
  const now = { text: "", unit: units[0], ...value };
  const change = (part) => put(Object.assign(now, part));
  const attrs = { ...described(about), value: now.text, type: "text", inputmode: "decimal", class: "short", autocomplete: "off" };
  const input = h("input", { ...attrs, oninput: (event) => change({ text: event.target.value }) });
  return field(about, h("div", { class: "measure" }, input, unitSelect(about.label, units, now.unit, (unit) => change({ unit }))));
}

export function select({ options, value, put, ...about }) {
  const offered = options.map((option) => h("option", { value: option.value }, option.label));
  return field(about, h("select", { ...described(about), value, onchange: (event) => put(event.target.value) }, offered));
}

function pick(id, option, at, value, put) {
  const input = h("input", { type: "radio", name: id, id: `${id}-${at}`, value: option.value, checked: option.value === value, onchange: () => put(option.value) });
  const words = h("span", { class: "pick__words" }, option.label, option.hint && h("span", { class: "pick__hint" }, option.hint));
  return h("label", { class: "pick", for: `${id}-${at}` }, input, words);
}

export function picks({ id, legend, options, value, put, hint, optional, across = false }) {
  return h(
    "fieldset",
    { class: "field", "data-field": id, id, "aria-describedby": hint && hintId(id) },
    h("legend", legend, optionalWords(optional)),
    hintLine(id, hint),
    h("div", { class: ["pick-list", across && "pick-list--across"] }, options.map((option, at) => pick(id, option, at, value, put))),
  );
}

function tick({ value, label, ticked }, put) {
  const input = h("input", { type: "checkbox", checked: ticked, onchange: (event) => put(value, event.target.checked) });
  return h("label", { class: "tick" }, input, h("span", label));
}

export const ticks = ({ legend, options, put }) =>
  h("fieldset", { class: "field" }, h("legend", { class: "visually-hidden" }, legend), h("div", { class: "tick-list" }, options.map((option) => tick(option, put))));

const controls = (box) => box.querySelectorAll("input, select, textarea");

export function fault(root, id, sentence) {
  const box = root.querySelector(`[data-field="${CSS.escape(id)}"]`);
  if (!box) return false;
  box.classList.add("field--error");
  box.append(h("ul", { class: "errorlist" }, h("li", sentence)));
  for (const control of controls(box)) control.setAttribute("aria-invalid", "true");
  return true;
}

export function clearFaults(root) {
  for (const box of root.querySelectorAll(".field--error")) {
    box.classList.remove("field--error");
    for (const list of box.querySelectorAll(":scope > .errorlist")) list.remove();
    for (const control of controls(box)) control.removeAttribute("aria-invalid");
  }
}
