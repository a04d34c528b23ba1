// A tiny bus: what changed, told to this page and to the other pages of the same tablet.
//
//   on(name, hear) -> off()             hear(detail) at each tell; off() ends it
//   tell(name, detail?)                 detail must be plain data (it crosses pages)
//   whileShown(root, names, draw) -> Promise    draw() now and at each of the names, until root has left the page;
//                                       the promise is that of the first draw
//
// Names: "outbox" (rows or photos changed), "saved" (something new waits), "drafts", "packs", "tables", "me",
// "sync" (state of sending), "storage" (room), "update" (a new version waits), "held" (a form opened or closed).

const here = new EventTarget();
const line = new BroadcastChannel("hingewood-field");

function ring(name, detail) {
  here.dispatchEvent(new CustomEvent(name, { detail }));
}

line.onmessage = (event) => ring(event.data.name, event.data.detail);

export function on(name, hear) {
  const listen = (event) => hear(event.detail);
  here.addEventListener(name, listen);
  return () => here.removeEventListener(name, listen);
}

export function tell(name, detail = null) {
  ring(name, detail);
  line.postMessage({ name, detail });
}

// Draws one after the other, and not once more than needed: what is told during a draw asks for one more.
export function whileShown(root, names, draw) {
  let asked = true;
  let drawing = null;
  const offs = names.map((name) => on(name, redraw));
  async function drawAll() {
    while (asked) {
      asked = false;
      await draw();
    }
  }
  function redraw() {
    if (!root.isConnected) return offs.forEach((off) => off());
    asked = true;
    drawing ??= drawAll().finally(() => (drawing = null));
  }
  drawing = drawAll().finally(() => (drawing = null));
  return drawing;
}
