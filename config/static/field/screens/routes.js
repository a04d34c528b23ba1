// Each screen with its address, and the sections under the thumb. Addresses are written "#/tree/12".

import * as due from "./due.js";
import * as find from "./find.js";
import * as home from "./home.js";
import * as inspect from "./inspect.js";
import * as map from "./map.js";
import * as newTree from "./new_tree.js";
import { outboxScreen } from "./outbox.js";
import { packsScreen } from "./packs.js";
import * as tree from "./tree.js";

// A section shows to who has the permission it needs.
export const SECTIONS = [
  { name: "find", label: "Find", icon: "find", path: "/find" },
  { name: "map", label: "Map", icon: "map", path: "/map" },
  { name: "due", label: "Due", icon: "due", path: "/due" },
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
  { path: "/park/:code", show: home.enter },
  { path: "/packs", show: packsScreen, section: "parks" },
  { path: "/outbox", show: outboxScreen },
];
