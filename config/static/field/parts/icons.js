// Small drawings of one line, beside words: they say nothing alone.
//
//   icon(name) -> SVGElement

import { svg } from "./h.js";

const LINES = {
  find: "M10 3a7 7 0 1 0 0 14a7 7 0 0 0 0-14M15 15l6 6",
  map: "M3 6l6-3l6 3l6-3v15l-6 3l-6-3l-6 3zM9 3v15M15 6v15",
  due: "M4 5h16v16h-16zM4 10h16M8 2v5M16 2v5M8 15l3 3l5-6",
  orders: "M6 3h12v18h-12zM9 8h6M9 12h6M9 16h3",
  parks: "M4 8h16v12h-16zM2 4h20v4h-20zM10 12h4",
  storm: "M13 2l-8 12h6l-2 8l9-13h-6l3-7z",
  care: "M12 3c4 5 6 8 6 11a6 6 0 0 1-12 0c0-3 2-6 6-11z",
  outbox: "M4 14v6h16v-6M12 16v-12M7 9l5-5l5 5",
  camera: "M3 7h5l2-3h4l2 3h5v13h-18zM12 9a4 4 0 1 0 0 8a4 4 0 0 0 0-8",
  here: "M12 2v4M12 18v4M2 12h4M18 12h4M12 7a5 5 0 1 0 0 10a5 5 0 0 0 0-10",
  scan: "M3 8v-5h5M16 3h5v5M21 16v5h-5M8 21h-5v-5M8 8h8v8h-8z",
  plus: "M12 4v16M4 12h16",
  minus: "M4 12h16",
  back: "M14 4l-8 8l8 8",
};

export const icon = (name) =>
  svg("svg", { class: "icon", viewBox: "0 0 24 24", "aria-hidden": "true", focusable: "false" }, svg("path", { d: LINES[name] }));
