// What most screens need before they can draw: the park, the tables, the reader's unit.
//
//   reader() -> Promise<{park, tables, units}>      throws NotReady (a sentence) while one is missing

import * as me from "../me.js";
import * as tables from "../tables.js";
import { current } from "./park.js";

export class NotReady extends Error {}

export async function reader() {
  const [park, held, user] = await Promise.all([current(), tables.get(), me.get()]);
  if (!held) throw new NotReady("The rating tables are not on this tablet yet. Open this page once with signal, signed in.");
  if (!park) throw new NotReady("No park is on this tablet yet. Take one along while there is signal.");
  return { park, tables: held, units: user?.units ?? "metric", may: user?.may ?? [] };
}
