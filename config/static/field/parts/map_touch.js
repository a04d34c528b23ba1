// Fingers, mouse and keys on a map's canvas.
//
//   touching(canvas, view, tap)     one finger pans, two zoom, a tap calls tap([px, py]); arrows pan, + and - zoom

const TAP_PX = 10;
const STEP_PX = 60;

const at = (canvas, event) => {
  const box = canvas.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
};

const middle = ([[ax, ay], [bx, by]]) => [(ax + bx) / 2, (ay + by) / 2];

const apart = ([[ax, ay], [bx, by]]) => Math.hypot(ax - bx, ay - by);

const KEYS = {
  ArrowLeft: (view) => view.pan(STEP_PX, 0),
  ArrowRight: (view) => view.pan(-STEP_PX, 0),
  ArrowUp: (view) => view.pan(0, STEP_PX),
  ArrowDown: (view) => view.pan(0, -STEP_PX),
  "+": (view) => view.zoom(1.5),
  "=": (view) => view.zoom(1.5),
  "-": (view) => view.zoom(1 / 1.5),
};

export function touching(canvas, view, tap) {
  const fingers = new Map();
  let travelled = 0;

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    if (!fingers.size) travelled = 0;
    fingers.set(event.pointerId, at(canvas, event));
    if (fingers.size > 1) travelled = Infinity;
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const before = [...fingers.values()];
    const [x, y] = fingers.get(event.pointerId);
    const now = at(canvas, event);
    fingers.set(event.pointerId, now);
    travelled += Math.hypot(now[0] - x, now[1] - y);
    if (before.length === 1) view.pan(now[0] - x, now[1] - y);
    if (before.length === 2) pinch(before, [...fingers.values()]);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => {
      const last = fingers.get(event.pointerId);
      fingers.delete(event.pointerId);
      if (end === "pointerup" && last && travelled < TAP_PX) tap(last);
    });
  }
  function pinch(before, after) {
    const [from, to] = [middle(before), middle(after)];
    view.pan(to[0] - from[0], to[1] - from[1]);
    view.zoom(apart(after) / Math.max(1, apart(before)), to);
  }
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    view.zoom(event.deltaY < 0 ? 1.25 : 0.8, at(canvas, event));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    if (!KEYS[event.key] || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    KEYS[event.key](view);
  });
}
