// Where a map looks: a centre in metres and a scale, moved by fingers, keys and buttons. No drawing here.
//
//   new View(width, height)     px of the drawing
//   fit(points, margin)         all [x, y] of the list in sight
//   toScreen([x, y]) / toGround([px, py])
//   pan(dx, dy), zoom(factor, [px, py])      tell .moved()

// A screen of 20 m is as near as positions make sense; 20 km is more than any park.
const NEAREST_PX_PER_M = 60;
const FARTHEST_PX_PER_M = 0.04;

export class View {
  constructor(width, height) {
    this.width = width;
    this.height = height;
    this.x = 0;
    this.y = 0;
    this.scale = 1;
    this.moved = () => {};
  }

  fit(points, margin = 40) {
    if (!points.length) return;
    const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
    const [west, east] = [xs.reduce((a, b) => Math.min(a, b)), xs.reduce((a, b) => Math.max(a, b))];
    const [south, north] = [ys.reduce((a, b) => Math.min(a, b)), ys.reduce((a, b) => Math.max(a, b))];
    this.x = (west + east) / 2;
    this.y = (south + north) / 2;
    const room = [(this.width - 2 * margin) / Math.max(east - west, 10), (this.height - 2 * margin) / Math.max(north - south, 10)];
    this.scale = this.bounded(Math.min(...room));
    this.moved();
  }

  bounded(scale) {
    return Math.min(NEAREST_PX_PER_M, Math.max(FARTHEST_PX_PER_M, scale));
  }

  toScreen([x, y]) {
    return [this.width / 2 + (x - this.x) * this.scale, this.height / 2 - (y - this.y) * this.scale];
  }

  toGround([px, py]) {
    return [this.x + (px - this.width / 2) / this.scale, this.y - (py - this.height / 2) / this.scale];
  }

  lookAt([x, y], scale = this.scale) {
    this.x = x;
    this.y = y;
    this.scale = this.bounded(scale);
    this.moved();
  }

  pan(dx, dy) {
    this.x -= dx / this.scale;
    this.y += dy / this.scale;
    this.moved();
  }

  // The ground under the point stays under it.
  zoom(factor, at = [this.width / 2, this.height / 2]) {
    const [x, y] = this.toGround(at);
    this.scale = this.bounded(this.scale * factor);
    const [nowX, nowY] = this.toGround(at);
    this.x += x - nowX;
    this.y += y - nowY;
    this.moved();
  }
}
