// The tablet page: its worker, its room, its outbox, then the screens.

import * as packs from "./packs.js";
import * as room from "./room.js";
import { start as startScreens } from "./screens/router.js";
import * as sync from "./sync.js";
import * as tables from "./tables.js";
import * as update from "./update.js";

startScreens(document.getElementById("field"));
update.start().catch((error) => console.warn("No service worker:", error.message));
room.start();

// With signal: send, then bring the tables and the packs up to date.
const { phase } = await sync.start();
if (phase === "idle") {
  await tables.refresh().catch(() => {});
  await packs.refreshAll().catch(() => {});
}
