// A tiny bus: what changed, told to this page and to the other pages of the same tablet.
//
//   on(name, hear) -> off()             hear(detail) at each tell; off() ends it
//   tell(name, detail?)                 detail must be plain data (it crosses pages)
//   whileShown(root, names, draw)       draw() now and at each of the names, until root has left the page
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

export function whileShown(root, names, draw) {
  const offs = names.map((name) => on(name, redraw));
  function redraw() {
    if (root.isConnected) draw();
    else for (const off of offs) off();
  }
  draw();
}
