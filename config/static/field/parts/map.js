// A small map drawn from the pack alone: the park's edge, its trees by rating, where one stands. It needs no signal.
//
//   parkMap({trees, outline, first?, pick?, cross?, mark?, moved?}) -> {element, show({lon, lat}), centre(), inSight(), redraw()}
//     outline: GeoJSON of the park or null     first: {lon, lat} to look at from near; left out: all
//     pick(tree) at a tap      cross: draws the middle, to place a tree there
//     mark() -> {lon, lat} | null              moved() when it has come to rest
//     inSight() -> [tree]                      those on the drawing, nearest its middle first

import { on } from "../bus.js";
import { plane } from "./geo.js";
import { h } from "./h.js";
import { icon } from "./icons.js";
import { View } from "./map_view.js";
import { touching } from "./map_touch.js";
import * as place from "./place.js";
import { placed, stands, tagOf } from "./trees.js";

const RATINGS = [null, "low", "moderate", "high", "extreme"];
const TAP_PX = 28;
const TAGS_UP_TO = 60;
const REST_MS = 150;
const CLOSE_PX_PER_M = 8;

const colour = (style, name) => style.getPropertyValue(`--${name}`).trim();

function rings(outline) {
  if (!outline) return [];
  const polygons = outline.type === "Polygon" ? [outline.coordinates] : outline.coordinates;
  return polygons.flat().map((ring) => ring.map(([lon, lat]) => ({ lon, lat })));
}

const radius = (tree, scale) => Math.max(3.5, Math.min(14, scale * 2.2)) + RATINGS.indexOf(tree.rating ?? null) * 0.75;

function drawRing(pen, points) {
  pen.beginPath();
  for (const [x, y] of points) pen.lineTo(x, y);
  pen.closePath();
  pen.stroke();
}

function disc(pen, [x, y], r, { fill, edge, width = 1.5 }) {
  pen.beginPath();
  pen.arc(x, y, r, 0, 2 * Math.PI);
  if (fill) pen.fillStyle = fill;
  if (fill) pen.fill();
  pen.strokeStyle = edge;
  pen.lineWidth = width;
  pen.stroke();
}

// 1, 2 or 5 times a power of ten metres, no wider than a quarter of the drawing.
function scaleBar(view) {
  const most = view.width / 4 / view.scale;
  const ten = 10 ** Math.floor(Math.log10(most));
  return [5, 2, 1].map((times) => times * ten).find((length) => length <= most);
}

class Drawing {
  constructor(canvas, view, ground, spots, outline, about) {
    Object.assign(this, { canvas, view, ground, spots, about });
    this.rings = rings(outline).map((ring) => ring.map(ground.to));
    this.pen = canvas.getContext("2d");
  }

  draw() {
    const style = getComputedStyle(this.canvas);
    const inks = Object.fromEntries(["paper", "ink", "ink-soft", "sheet", "clay", "plum-edge", "edge", "low", "moderate", "high", "extreme"].map((name) => [name, colour(style, name)]));
    const { pen, view } = this;
    const sharp = devicePixelRatio || 1;
    pen.setTransform(sharp, 0, 0, sharp, 0, 0);
    pen.clearRect(0, 0, view.width, view.height);
    pen.font = `600 14px ${style.fontFamily}`;
    this.edge(inks);
    this.trees(inks);
    this.here(inks);
    this.marked(inks);
    this.bar(inks);
  }

  edge(inks) {
    this.pen.strokeStyle = inks["ink-soft"];
    this.pen.lineWidth = 2;
    for (const ring of this.rings) drawRing(this.pen, ring.map((point) => this.view.toScreen(point)));
  }

  seen() {
    const { view } = this;
    return this.spots
      .map((spot) => ({ ...spot, at: view.toScreen(spot.ground) }))
      .filter(({ at: [x, y] }) => x > -15 && y > -15 && x < view.width + 15 && y < view.height + 15);
  }

  trees(inks) {
    const seen = this.seen();
    for (const { tree, at } of seen) this.tree(tree, at, inks);
    if (seen.length > TAGS_UP_TO) return;
    for (const { tree, at } of seen) this.tag(tree, at, inks);
  }

  tree(tree, at, inks) {
    const look = tree.rating ? { fill: inks[tree.rating], edge: inks["plum-edge"] } : { fill: inks.sheet, edge: inks.edge };
    disc(this.pen, at, radius(tree, this.view.scale), look);
    if (tree.rating === "extreme" || tree.imminent) disc(this.pen, at, radius(tree, this.view.scale) + 4, { edge: inks.ink, width: 2 });
  }

  tag(tree, [x, y], inks) {
    this.words(tagOf(tree), x + radius(tree, this.view.scale) + 6, y + 5, inks);
  }

  words(words, x, y, inks) {
    this.pen.lineWidth = 4;
    this.pen.strokeStyle = inks.paper;
    this.pen.strokeText(words, x, y);
    this.pen.fillStyle = inks.ink;
    this.pen.fillText(words, x, y);
  }

  here(inks) {
    const fix = place.now();
    if (!fix) return;
    const at = this.view.toScreen(this.ground.to(fix));
    disc(this.pen, at, Math.max(14, fix.accuracy_m * this.view.scale), { edge: inks.clay, width: 2 });
    disc(this.pen, at, 7, { fill: inks.clay, edge: inks.paper, width: 3 });
  }

  marked(inks) {
    const mark = this.about.mark?.();
    if (mark) disc(this.pen, this.view.toScreen(this.ground.to(mark)), 10, { fill: inks.clay, edge: inks.ink, width: 3 });
    if (this.about.cross) this.crossHair(inks);
  }

  crossHair(inks) {
    const [x, y] = [this.view.width / 2, this.view.height / 2];
    this.pen.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      this.pen.moveTo(x + dx * 8, y + dy * 8);
      this.pen.lineTo(x + dx * 34, y + dy * 34);
    }
    for (const [ink, width] of [[inks.paper, 8], [inks.ink, 3]]) {
      this.pen.strokeStyle = ink;
      this.pen.lineWidth = width;
      this.pen.stroke();
    }
  }

  bar(inks) {
    const length = scaleBar(this.view);
    const [x, y] = [16, this.view.height - 18];
    this.pen.strokeStyle = inks.ink;
    this.pen.lineWidth = 2;
    this.pen.strokeRect(x, y, length * this.view.scale, 1);
    this.words(length < 1000 ? `${length} m` : `${length / 1000} km`, x, y - 8, inks);
  }
}

const middleOf = (points) => ({
  lon: points.reduce((sum, { lon }) => sum + lon, 0) / points.length,
  lat: points.reduce((sum, { lat }) => sum + lat, 0) / points.length,
});

function button(label, drawing, press) {
  return h("button", { class: "button map__button", type: "button", "aria-label": label, onclick: press }, icon(drawing));
}

export function parkMap({ trees, outline, pick, first, moved = () => {}, ...about }) {
  const standing = trees.filter((tree) => stands(tree) && placed(tree));
  const corners = [...standing, ...rings(outline).flat(), ...(place.now() ? [place.now()] : [])];
  const ground = plane(corners.length ? middleOf(corners) : { lon: 0, lat: 0 });
  // The worst last, so that they lie on top.
  const worstLast = standing.toSorted((one, other) => RATINGS.indexOf(one.rating) - RATINGS.indexOf(other.rating));
  const spots = worstLast.map((tree) => ({ tree, ground: ground.to(tree) }));
  const words = `Map of ${standing.length} trees. Arrow keys move it, plus and minus zoom. The list beside it says the same.`;
  const canvas = h("canvas", { class: "map__canvas", tabindex: "0", role: "application", "aria-label": words });
  const view = new View(1, 1);
  const drawing = new Drawing(canvas, view, ground, spots, outline, about);
  let asked = false;
  let rest = null;

  const redraw = () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      drawing.draw();
    });
  };
  view.moved = () => {
    redraw();
    clearTimeout(rest);
    rest = setTimeout(moved, REST_MS);
  };
  const show = (spot) => view.lookAt(ground.to(spot), Math.max(view.scale, CLOSE_PX_PER_M));
  const all = () => view.fit(corners.map(ground.to));
  const fromMiddle = ({ at: [x, y] }) => Math.hypot(x - view.width / 2, y - view.height / 2);
  const tap = ([x, y]) => {
    const near = drawing.seen().map(({ tree, at }) => [Math.hypot(at[0] - x, at[1] - y), tree]).filter(([far]) => far < TAP_PX);
    if (near.length) pick?.(near.reduce((one, other) => (other[0] < one[0] ? other : one))[1]);
  };
  touching(canvas, view, tap);

  let begun = false;
  new ResizeObserver(() => {
    const { width, height } = canvas.getBoundingClientRect();
    if (!width) return;
    const sharp = devicePixelRatio || 1;
    Object.assign(canvas, { width: width * sharp, height: height * sharp });
    Object.assign(view, { width, height });
    if (!begun && first) show(first);
    else if (!begun) all();
    begun = true;
    redraw();
  }).observe(canvas);
  const off = on("place", () => (canvas.isConnected ? redraw() : off()));
  const scheme = matchMedia("(prefers-color-scheme: dark)");
  scheme.addEventListener("change", function shade() {
    if (canvas.isConnected) redraw();
    else scheme.removeEventListener("change", shade);
  });

  const buttons = [
    button("Nearer", "plus", () => view.zoom(1.6)),
    button("Farther", "minus", () => view.zoom(1 / 1.6)),
    h("button", { class: "button map__button", type: "button", onclick: all }, "All"),
  ];
  return {
    element: h("div", { class: "map" }, canvas, h("div", { class: "map__buttons" }, buttons)),
    show,
    centre: () => ground.from([view.x, view.y]),
    inSight: () => drawing.seen().sort((one, other) => fromMiddle(one) - fromMiddle(other)).map(({ tree }) => tree),
    redraw,
  };
}
