// Each screen with its address, and the sections under the thumb. Addresses are written "#/tree/12".

import * as briefing from "./briefing.js";
import * as care from "./care.js";
import * as due from "./due.js";
import * as felled from "./felled.js";
import * as find from "./find.js";
import * as home from "./home.js";
import * as inspect from "./inspect.js";
import * as map from "./map.js";
import * as newTree from "./new_tree.js";
import { outboxScreen } from "./outbox.js";
import * as order from "./order.js";
import * as orders from "./orders.js";
import { packsScreen } from "./packs.js";
import * as storm from "./storm.js";
import * as stormFind from "./storm_find.js";
import * as tree from "./tree.js";

// A section shows to who has the permission it needs, and while there is something in it.
export const SECTIONS = [
  { name: "find", label: "Find", icon: "find", path: "/find" },
  { name: "map", label: "Map", icon: "map", path: "/map" },
  { name: "due", label: "Due", icon: "due", path: "/due" },
  { name: "orders", label: "Orders", icon: "orders", path: "/orders", needs: "hold a job briefing", shows: orders.any },
  { name: "care", label: "Care", icon: "care", path: "/care", needs: "record a care visit", shows: care.any },
  { name: "storm", label: "Storm", icon: "storm", path: "/storm", needs: "record what a storm did", shows: storm.any },
  { name: "parks", label: "Parks", icon: "parks", path: "/packs" },
];

export const ROUTES = [
  { path: "/", show: home.show },
  { path: "/find", show: find.show, section: "find" },
  { path: "/map", show: map.show, section: "map" },
  { path: "/due", show: due.show, section: "due" },
  { path: "/tree/:id", show: tree.show, section: "find" },
  { path: "/inspect/:id", show: inspect.show, form: true },
  { path: "/new", show: newTree.show, form: true },
  { path: "/orders", show: orders.show, section: "orders" },
  { path: "/order/:id", show: order.show, section: "orders" },
  { path: "/order/:id/briefing", show: briefing.show, form: true },
  { path: "/order/:id/felled", show: felled.show, form: true },
  { path: "/care", show: care.show, section: "care" },
  { path: "/storm", show: storm.show, section: "storm" },
  { path: "/storm/:event/find", show: stormFind.show, form: true },
  { path: "/park/:code", show: home.enter },
  { path: "/packs", show: packsScreen, section: "parks" },
  { path: "/outbox", show: outboxScreen },
];
