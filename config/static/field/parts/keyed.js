// A list that is redrawn without losing the focus, or an open question in one of its lines.
//
//   keyed(list, items, keyOf, lookOf, build)     a line is built again only when its look (any plain data) has changed

export function keyed(list, items, keyOf, lookOf, build) {
  const old = new Map(Array.from(list.children, (line) => [line.dataset.key, line]));
  const lines = items.map((item) => {
    const [key, look] = [String(keyOf(item)), JSON.stringify(lookOf(item))];
    const before = old.get(key);
    if (before?.dataset.look === look) return before;
    const line = build(item);
    Object.assign(line.dataset, { key, look });
    return line;
  });
  const kept = new Set(lines);
  for (const line of old.values()) if (!kept.has(line)) line.remove();
  // Moved only when out of its place: moving takes the focus away.
  lines.forEach((line, at) => list.children[at] === line || list.insertBefore(line, list.children[at] ?? null));
}
