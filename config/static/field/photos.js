// Photos: shrunk on the tablet, stored at once, sent after their record, one by one.
//
//   take(file, {draft, caption?}) -> Promise<Photo>   shrink the camera's file, store it with the draft of that key
//   ofDraft(key), ofRecord(id) -> Promise<[Photo]>    {id, record, state, caption, taken_at, width, height, size, errors}
//   describe(id, caption)                             set the caption
//   drop(id)                                          throw one away
//   url(id) -> Promise<string|null>                   an object URL for an <img>; revoke it when done
//   shrink(file) -> Promise<{bytes, type, width, height}>
//
// States: waiting (with its draft or record), refused (errors say why). A photo that the server has is deleted here.

import { tell } from "./bus.js";
import { ask, NotSaved, read, write } from "./db.js";
import { rowKey } from "./drafts.js";
import * as me from "./me.js";
import { uuid7 } from "./uuid7.js";

export const LONG_EDGE_PX = 2048;
const QUALITY = 0.8;

// The size as it is seen, turned as the camera meant it. An <img> finds it without a canvas of full size, which WebKit
// leaves black from 16 megapixels on.
async function sizeOf(file) {
  const address = URL.createObjectURL(file);
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    return [image.naturalWidth, image.naturalHeight];
  } catch {
    throw new NotSaved("Not saved: this file is not a picture that the tablet can read. Take the photo again.");
  } finally {
    URL.revokeObjectURL(address);
  }
}

export function fitted(width, height, edge = LONG_EDGE_PX) {
  const scale = Math.min(1, edge / Math.max(width, height));
  return [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
}

export async function shrink(file) {
  const [width, height] = fitted(...(await sizeOf(file)));
  const options = { resizeWidth: width, resizeHeight: height, resizeQuality: "high", imageOrientation: "from-image" };
  const bitmap = await createImageBitmap(file, options);
  const canvas = Object.assign(document.createElement("canvas"), { width, height });
  canvas.getContext("2d").drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  // Gives the memory back at once, where the browser would wait.
  canvas.width = canvas.height = 0;
  if (!blob) throw new NotSaved("Not saved: the tablet could not shrink this photo. Take it again.");
  return { bytes: await blob.arrayBuffer(), type: "image/jpeg", width, height };
}

export async function sha256(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function take(file, { draft, caption = "" }) {
  const taken_at = new Date().toISOString();
  const { bytes, ...facts } = await shrink(file);
  const photo = {
    id: uuid7(),
    user: (await me.get())?.id ?? 0,
    draft: await rowKey(draft),
    record: "",
    state: "waiting",
    caption,
    taken_at,
    size: bytes.byteLength,
    sha256: await sha256(bytes),
    tries: 0,
    errors: [],
    ...facts,
  };
  await write(["photos", "bytes"], async (stores) => {
    await ask(stores.photos.put(photo));
    await ask(stores.bytes.put({ id: photo.id, bytes }));
  });
  tell("outbox");
  return photo;
}

const by = (index, value) => read(["photos"], ({ photos }) => ask(photos.index(index).getAll(value)));

export const ofUser = (id) => by("user", id);

export const ofRecord = (id) => by("record", id);

export const ofDraft = async (key) => by("draft", await rowKey(key));

export const all = () => read(["photos"], ({ photos }) => ask(photos.getAll()));

async function change(id, fields) {
  await write(["photos"], async ({ photos }) => {
    const photo = await ask(photos.get(id));
    if (photo) await ask(photos.put({ ...photo, ...fields }));
  });
  tell("outbox");
}

export const describe = (id, caption) => change(id, { caption });

export const refused = (id, errors) => change(id, { state: "refused", errors });

export const tried = (photo) => change(photo.id, { tries: photo.tries + 1 });

export const again = (id) => change(id, { state: "waiting", tries: 0, errors: [] });

export async function drop(id) {
  await write(["photos", "bytes"], async (stores) => {
    await ask(stores.photos.delete(id));
    await ask(stores.bytes.delete(id));
  });
  tell("outbox");
}

export async function blob(photo) {
  const row = await read(["bytes"], ({ bytes }) => ask(bytes.get(photo.id)));
  return row && new Blob([row.bytes], { type: photo.type });
}

export async function url(id) {
  const picture = await blob({ id, type: "image/jpeg" });
  return picture ? URL.createObjectURL(picture) : null;
}
