// Where the tablet is: asked only on a tap, kept for as long as the page is open, always with its accuracy and age.
//
//   now() -> {lon, lat, accuracy_m, at (ms)} | null
//   ask() -> Promise<fix>                tells "place" on the bus; rejects with NoPlace (a sentence with the other ways)
//   words(fix) -> "Position within 6 m, 20 seconds ago"
//   placeButton(label, {then}?) -> HTMLElement     the button with what it found beneath

import { tell } from "../bus.js";
import { h, put } from "./h.js";
import { icon } from "./icons.js";
import { ago } from "./words.js";

export class NoPlace extends Error {}

const OPTIONS = { enableHighAccuracy: true, timeout: 20_000, maximumAge: 0 };
const OTHERWISE = "Find the tree by its tag, on the map, or under “due”.";
const WHY = {
  1: `This tablet does not give its position to this page; allow it in the tablet's settings for this site. ${OTHERWISE}`,
  2: `The tablet cannot find its position here. ${OTHERWISE}`,
  3: `The tablet found no position in 20 seconds; try again under open sky. ${OTHERWISE}`,
};

let fix = null;

export const now = () => fix;

export function ask() {
  return new Promise((resolve, reject) => {
    if (!navigator.geolocation) return reject(new NoPlace(`This tablet has no positioning. ${OTHERWISE}`));
    const found = ({ coords }) => {
      fix = { lon: coords.longitude, lat: coords.latitude, accuracy_m: coords.accuracy, at: Date.now() };
      tell("place");
      resolve(fix);
    };
    return navigator.geolocation.getCurrentPosition(found, ({ code }) => reject(new NoPlace(WHY[code])), OPTIONS);
  });
}

export const words = ({ accuracy_m, at }) => `Position within ${Math.max(1, Math.round(accuracy_m))} m, ${ago(at)}.`;

export function placeButton(label, { then = () => {} } = {}) {
  const said = h("p", { class: "muted", role: "status" }, fix && words(fix));
  const press = async () => {
    put(said, "Looking for the position…");
    try {
      then(await ask());
      put(said, words(fix));
    } catch (error) {
      if (!(error instanceof NoPlace)) throw error;
      put(said, error.message);
    }
  };
  return h("div", { class: "place" }, h("button", { class: "button", type: "button", onclick: press }, icon("here"), label), said);
}
