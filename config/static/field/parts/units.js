// Lengths and speeds as people read and type them; what is sent is in the unit that the server stores. The factors are the server's.
//
//   read(tables, {text, unit}, store) -> number | null     null when empty; throws NotAMeasure (a sentence)
//   glance(tables, {text, unit}, store) -> number | null   as read, and null also while it cannot be read
//   isConverted(tables, unit) -> bool                      false for % and °
//   show(tables, value, store, units) -> "14.2 in"         rounded for reading
//   typed(tables, value, store, units) -> {text, unit}     a stored value as one would type it
//   offered(tables, store) -> ["cm", "in"]                 the units to choose from
//   own(tables, store, units) -> "in"                      the reader's

export class NotAMeasure extends Error {}

const NUMBER = /^(\d+(?:[.,]\d{1,2})?|\d+\.\d+)\s*([^\d\s.,]+)?$/;

export const own = (tables, store, units) => tables.units.own[units]?.[store] ?? store;

export const offered = (tables, store) => [...new Set(Object.values(tables.units.own).map((of) => of[store] ?? store))];

// Lengths among lengths, speeds among speeds.
const kin = (tables, unit) => tables.units.per.find((each) => unit in each) ?? {};

const factor = (tables, from, to) => kin(tables, to)[from] / kin(tables, to)[to];

const trimmed = (number, digits) => String(Number(number.toFixed(digits)));

// Percentages and degrees are only ever themselves.
export const isConverted = (tables, unit) => unit in kin(tables, unit);

function readPlain(text) {
  const rest = text.trim().replace(",", ".");
  if (!rest) return null;
  if (!/^\d+(\.\d+)?$/.test(rest)) throw new NotAMeasure(`“${text}” is not a number; write for example 30.`);
  return Number(rest);
}

export function read(tables, given, store) {
  const { text = "", unit = "" } = given ?? {};
  if (!isConverted(tables, store)) return readPlain(text);
  const rest = text.trim().toLowerCase();
  if (!rest) return null;
  const found = NUMBER.exec(rest);
  const named = found?.[2] ?? (unit || store);
  if (!found || !kin(tables, store)[named]) throw new NotAMeasure(`“${text}” cannot be read; write a number, with its unit when it is not in ${unit || store}.`);
  return Number((Number(found[1].replace(",", ".")) * factor(tables, named, store)).toFixed(6));
}

export function glance(tables, given, store) {
  try {
    return read(tables, given, store);
  } catch {
    return null;
  }
}

export function show(tables, value, store, units) {
  if (value === null || value === undefined) return "";
  const unit = own(tables, store, units);
  const number = value * factor(tables, store, unit);
  return `${trimmed(number, number < 100 ? 1 : 0)} ${unit}`;
}

export function typed(tables, value, store, units) {
  const unit = own(tables, store, units);
  if (value === null || value === undefined) return { text: "", unit };
  if (!isConverted(tables, store)) return { text: trimmed(value, 2), unit: store };
  return { text: trimmed(value * factor(tables, store, unit), 2), unit };
}
