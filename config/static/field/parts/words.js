// Counts, ages and sizes as people say them.
//
//   records(3) -> "3 records"     ago(ms) -> "5 minutes ago"     size(bytes) -> "1.4 MB"     times(n, one, many)
//   capital("low") -> "Low"       day("2026-05-04") -> "4 May 2026"     today() -> "2026-05-04" by the tablet's own calendar

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

export const capital = (text) => text && text[0].toUpperCase() + text.slice(1);

export const day = (iso) => new Date(`${iso.slice(0, 10)}T12:00`).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });

export function today(now = new Date()) {
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

// What became of a record, by its state in the outbox.
export const FATES = {
  waiting: "kept on this tablet, not sent yet",
  sent: "received",
  refused: "refused: mend it in the outbox",
  forbidden: "refused: see the outbox",
};
