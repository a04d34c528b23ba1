// Ids made on the tablet: UUID version 7 (RFC 9562), in order of time, also within one millisecond of this page.
//
//   uuid7() -> "0197…"        a new id; each is greater than the one before

let last = 0n;

// 48 bits of time, then 74 random bits; the next id after one of the same millisecond is that one plus a little.
function next(now) {
  const random = crypto.getRandomValues(new BigUint64Array(2));
  const fresh = (BigInt(now) << 74n) | ((random[0] & 0x3ffn) << 64n) | random[1];
  last = fresh > last ? fresh : last + 1n + (random[1] & 0xffffn);
  return last;
}

export function uuid7(now = Date.now()) {
  const bits = next(now);
  const time = bits >> 74n;
  const a = (bits >> 62n) & 0xfffn;
  const b = bits & 0x3fffffffffffffffn;
  const number = (time << 80n) | (7n << 76n) | (a << 64n) | (2n << 62n) | b;
  const hex = number.toString(16).padStart(32, "0");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
