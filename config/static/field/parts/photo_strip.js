// Photos of a form: taken with the camera or chosen, stored at once with the form's draft, shown small, captioned.
//
//   photoStrip(key, {most}) -> HTMLElement

import * as photos from "../photos.js";
import { h, put } from "./h.js";
import { icon } from "./icons.js";

function chooser(label, drawing, take, attrs) {
  const input = h("input", { class: "visually-hidden", type: "file", accept: "image/*", ...attrs });
  input.addEventListener("change", async () => {
    const files = [...input.files];
    input.value = "";
    await take(files);
  });
  return h("label", { class: "button file-button" }, input, drawing && icon(drawing), label);
}

function picture(photo, number, drop) {
  const image = h("img", { alt: photo.caption || `Photo ${number}`, width: photo.width, height: photo.height });
  photos.url(photo.id).then((address) => {
    image.addEventListener("load", () => URL.revokeObjectURL(address));
    image.src = address;
  });
  const id = `caption-${photo.id}`;
  const caption = h("input", { id, type: "text", value: photo.caption, maxlength: 200, autocomplete: "off", onchange: () => photos.describe(photo.id, caption.value.trim()) });
  return h(
    "li",
    { class: "photo" },
    image,
    h("div", { class: "stack" }, h("div", { class: "field" }, h("label", { for: id }, `What photo ${number} shows`), caption), h("button", { class: "button button--quiet", type: "button", onclick: drop }, `Throw photo ${number} away`)),
  );
}

export function photoStrip(key, { most }) {
  const list = h("ul", { class: "plain photo-strip" });
  const said = h("p", { class: "muted", role: "status" });
  const buttons = h("div", { class: "cluster" });
  const draw = async () => {
    const all = await photos.ofDraft(key);
    put(list, all.map((photo, at) => picture(photo, at + 1, () => photos.drop(photo.id).then(draw))));
    buttons.hidden = all.length >= most;
    return all.length;
  };
  const take = async (files) => {
    try {
      for (const file of files.slice(0, most - (await draw()))) {
        put(said, "Shrinking and storing the photo…");
        await photos.take(file, { draft: key });
      }
      const count = await draw();
      put(said, count >= most ? `Stored. ${most} photos are the most for one look.` : "Stored on this tablet.");
    } catch (error) {
      put(said, error.message);
    }
  };
  put(buttons, chooser("Take a photo", "camera", take, { capture: "environment" }), chooser("Choose photos", null, take, { multiple: true }));
  draw();
  return h("div", { class: "stack" }, list, buttons, said);
}
