// Places on the ground of one park. Flat-earth figures: right to a part in a thousand within a few kilometres.
//
//   distanceM(one, other) -> metres          {lon, lat} in degrees
//   bearing(from, to) -> "NE"
//   plane(centre) -> {to({lon, lat}) -> [x, y], from([x, y]) -> {lon, lat}}     metres east and north of the centre

const M_PER_DEGREE = (6_371_008.8 * Math.PI) / 180;
const WINDS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];

export function plane(centre) {
  const east = M_PER_DEGREE * Math.cos((centre.lat * Math.PI) / 180);
  return {
    to: ({ lon, lat }) => [(lon - centre.lon) * east, (lat - centre.lat) * M_PER_DEGREE],
    from: ([x, y]) => ({ lon: centre.lon + x / east, lat: centre.lat + y / M_PER_DEGREE }),
  };
}

export const distanceM = (one, other) => Math.hypot(...plane(one).to(other));

export function bearing(from, to) {
  const [x, y] = plane(from).to(to);
  return WINDS[(Math.round(Math.atan2(x, y) / (Math.PI / 4)) + 8) % 8];
}
