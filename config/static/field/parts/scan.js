// Reading a tag's code over the camera's picture, where the browser can do it.
//
//   canScan() -> Promise<boolean>
//   scan(root, found) -> stop()      shows the camera in root; found(text) at the first code, then it stops by itself
//   tagIn(text) -> tag               a label's code holds the address of the tree's page; any other text is the tag itself

import { h, put } from "./h.js";

const EVERY_MS = 200;
const PAGE = /\/trees\/(.+?)\/$/;

export async function canScan() {
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) return false;
  return (await BarcodeDetector.getSupportedFormats()).includes("qr_code");
}

export function tagIn(text) {
  const path = URL.canParse(text) ? new URL(text).pathname : text;
  const found = PAGE.exec(path);
  return found ? decodeURIComponent(found[1]) : text.trim();
}

const REFUSED = "The camera cannot be used: allow it in the tablet's settings for this site, or type the tag.";

export function scan(root, found) {
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  const video = h("video", { class: "scan__picture", playsinline: true, muted: true });
  let stream = null;
  let timer = null;
  let over = false;

  function stop() {
    over = true;
    clearTimeout(timer);
    for (const track of stream?.getTracks() ?? []) track.stop();
    root.replaceChildren();
  }
  async function look() {
    const [code] = await detector.detect(video).catch(() => []);
    if (over || !video.isConnected) return stop();
    if (!code) return (timer = setTimeout(look, EVERY_MS));
    stop();
    return found(tagIn(code.rawValue));
  }
  async function start() {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    if (over) return stop();
    video.srcObject = stream;
    await video.play();
    return look();
  }
  put(root, video, h("p", "Hold the code of the tag before the camera."), h("button", { class: "button", type: "button", onclick: stop }, "Stop"));
  start().catch(() => put(root, h("p", REFUSED)));
  return stop;
}
