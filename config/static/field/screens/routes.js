// Each screen with its address, and the sections under the thumb. Addresses are written "#/tree/12".

import * as home from "./home.js";
import { outboxScreen } from "./outbox.js";
import { packsScreen } from "./packs.js";

// A section shows to who has the permission it needs.
export const SECTIONS = [{ name: "parks", label: "Parks", icon: "parks", path: "/packs" }];

export const ROUTES = [
  { path: "/", show: home.show },
  { path: "/park/:code", show: home.enter },
  { path: "/packs", show: packsScreen, section: "parks" },
  { path: "/outbox", show: outboxScreen },
];
