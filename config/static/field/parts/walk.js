// What is found on each part of the tree, in the order of the walk: chips to tick, a figure where one measures.
//
//   chapter({part, title, kinds}, look, {tables, units}) -> HTMLElement
//   chapterId(part) -> the id of its heading

import { length, text, ticks, whole } from "./fields.js";
import { h, put } from "./h.js";
import { foundOn } from "./look.js";
import { isConverted, offered, own } from "./units.js";
import { capital } from "./words.js";

export const chapterId = (part) => `part-${part.replaceAll(" ", "-")}`;

function figure({ name, measure }, part, found, { tables, units }) {
  const about = { id: `${part}.${name}`, label: `${capital(name)}: ${measure.of}`, optional: true };
  const value = found.kinds[name];
  if (!isConverted(tables, measure.unit)) {
    return whole({ ...about, unit: measure.unit, value: value.text, put: (typed) => Object.assign(value, { text: typed, unit: measure.unit }) });
  }
  value.unit ||= own(tables, measure.unit, units);
  return length({ ...about, value, units: offered(tables, measure.unit), put: (typed) => Object.assign(value, typed) });
}

export function chapter({ part, title, kinds }, look, about) {
  const found = foundOn(look, part);
  const lengths = about.tables.bounds.length;
  const figures = h("div", { class: "figures-beside" });
  const drawFigures = () => put(figures, kinds.filter(({ name, measure }) => measure && name in found.kinds).map((kind) => figure(kind, part, found, about)));
  const tick = (name, ticked) => {
    if (ticked) found.kinds[name] = { text: "", unit: "" };
    else delete found.kinds[name];
    drawFigures();
  };
  drawFigures();
  return h(
    "section",
    { class: "chapter", "aria-labelledby": chapterId(part) },
    h("h2", { id: chapterId(part), tabindex: "-1" }, title),
    ticks({ legend: `Found on: ${title}`, options: kinds.map(({ name }) => ({ value: name, label: capital(name), ticked: name in found.kinds })), put: tick }),
    figures,
    h(
      "details",
      { open: Boolean(found.other || found.remark) },
      h("summary", { class: "toggle" }, "Anything else, a remark"),
      h(
        "div",
        { class: "form__row" },
        text({ id: `${part}.other`, label: "Anything else", value: found.other, most: lengths.defect, optional: true, put: (typed) => (found.other = typed) }),
        text({ id: `${part}.remark`, label: "Remark", value: found.remark, most: lengths.defect_note, optional: true, put: (typed) => (found.remark = typed) }),
      ),
    ),
  );
}
