// Counts, ages and sizes as people say them.
//
//   records(3) -> "3 records"     ago(ms) -> "5 minutes ago"     size(bytes) -> "1.4 MB"     times(n, one, many)

export const times = (number, one, many = `${one}s`) => `${number} ${number === 1 ? one : many}`;

export const records = (number) => times(number, "record");

const STEPS = [
  [60_000, 1_000, "second"],
  [3_600_000, 60_000, "minute"],
  [48 * 3_600_000, 3_600_000, "hour"],
  [Infinity, 24 * 3_600_000, "day"],
];

export function ago(at, now = Date.now()) {
  const passed = Math.max(0, now - at);
  if (passed < 10_000) return "just now";
  const [, unit, word] = STEPS.find(([limit]) => passed < limit);
  return `${times(Math.floor(passed / unit), word)} ago`;
}

export function size(bytes) {
  if (bytes < 100_000) return `${Math.max(1, Math.round(bytes / 1000))} kB`;
  return `${(bytes / 1_000_000).toFixed(1)} MB`;
}
