// Figures over the whole run, a lane for each unit, with a stretch to be chosen, a moment to be read, marks of phases and trips.
import { make } from "./drawing.js";

const [WIDE, LANE, SIDE, TOP] = [1000, 120, 60, 30];
const MOST = 700;
// What an axis shows at least, so that a signal at rest lies still on it.
const QUIET = { "bar abs": 1, "mbar abs": 10, degC: 4, kg: 0.1, g: 10, "% LFL": 10 };

export class Trends {
  constructor(root, chosen) {
    this.root = root;
    this.svg = make("svg", { role: "img", "aria-label": "Readings and truth over time" }, root);
    this.listen();
    this.chosen = chosen;
    this.data = null;
    this.stretch = null;
    this.moment = null;
    this.marks = [];
    this.drag = null;
  }

  take(told) {
    if (!this.data || this.data.way !== told.way || told.from === 0) this.data = told;
    else if (told.from === this.data.rows.length) this.data.rows.push(...told.rows);
    else return false;
    this.draw();
    return true;
  }

  clear() { this.data = null; this.stretch = null; this.moment = null; }
  have() { return this.data ? { way: this.data.way, rows: this.data.rows.length } : { way: -1, rows: 0 }; }

  // What the mouse does, for the keyboard.
  show(from, to) { this.stretch = to > from ? [from, to] : null; if (this.data) this.draw(); }
  read(t) { this.moment = Number.isFinite(t) ? t : null; if (this.data) this.draw(); }

  range() {
    if (this.stretch) return this.stretch;
    const ends = [this.data.rows, ...this.data.left.map((one) => one.rows)].map((rows) => rows.at(-1)?.[0] ?? 0);
    return [0, Math.max(60, ...ends, ...this.marks.map((one) => one.t))];
  }

  draw() {
    const { lines, rows, left } = this.data;
    const units = [...new Set(lines.map((line) => line.unit))];
    const [a, b] = this.range();
    const x = (t) => SIDE + ((t - a) / (b - a)) * (WIDE - SIDE - 8);
    const height = TOP + units.length * (LANE + 22) + 18;
    const svg = this.svg;
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${WIDE} ${height}`);
    units.forEach((unit, lane) => {
      const y0 = TOP + lane * (LANE + 22) + 14;
      const own = lines.map((line, at) => ({ ...line, at })).filter((line) => line.unit === unit);
      const all = [rows, ...left.map((one) => one.rows)].flatMap((list) => list.filter((row) => row[0] >= a && row[0] <= b));
      let [low, high] = [Infinity, -Infinity];
      for (const row of all) for (const line of own) {
        const value = row[1][line.at];
        if (value != null) { low = Math.min(low, value); high = Math.max(high, value); }
      }
      const least = QUIET[unit] ?? 1;
      if (!(high - low > least * 1e-6)) {
        // Only a temperature goes below 0 in its unit.
        const middle = Number.isFinite(low) ? low : 0;
        low = unit === "degC" ? middle - least / 2 : Math.max(0, middle - least / 2);
        high = low + least;
      }
      const y = (value) => y0 + LANE - ((value - low) / (high - low)) * LANE;
      make("rect", { x: SIDE, y: y0, width: WIDE - SIDE - 8, height: LANE, fill: "none", class: "grid" }, svg);
      const digits = Math.min(4, Math.max(0, 2 - Math.floor(Math.log10(high - low))));
      make("text", { x: 2, y: y0 + 10, class: "small" }, svg, high.toFixed(digits));
      make("text", { x: 2, y: y0 + LANE, class: "small" }, svg, low.toFixed(digits));
      make("text", { x: 2, y: y0 + LANE / 2, class: "small" }, svg, unit);
      let label = SIDE;
      const moment = this.moment == null ? null : this.row(this.moment);
      own.forEach((line, number) => {
        const colour = `c${number % 4}`;
        const path = (list) => {
          const seen = list.filter((row) => row[0] >= a && row[0] <= b && row[1][line.at] != null);
          const step = Math.max(1, Math.floor(seen.length / MOST));
          return seen.filter((_, at) => at % step === 0 || at === seen.length - 1).map((row) => `${x(row[0]).toFixed(1)},${y(row[1][line.at]).toFixed(1)}`).join(" ");
        };
        for (const one of left) make("polyline", { points: path(one.rows), class: `curve left ${colour}` }, svg);
        make("polyline", { points: path(rows), class: `curve ${line.true ? "" : "reads"} ${colour}` }, svg);
        const value = moment?.[1][line.at];
        const words = line.label + (value == null ? "" : ` ${value.toPrecision(5)}`);
        make("text", { x: label, y: y0 - 4, class: colour }, svg, words);
        label += words.length * 6.2 + 18;
      });
    });
    const bottom = height - 18;
    this.marks.forEach((mark, place) => {
      if (mark.t < a || mark.t > b) return;
      make("line", { x1: x(mark.t), x2: x(mark.t), y1: TOP, y2: bottom, class: `mark ${mark.kind}` }, svg);
      const end = x(mark.t) > WIDE - 70;
      make("text", { x: x(mark.t) + (end ? -2 : 2), y: 10 + (place % 3) * 11, "text-anchor": end ? "end" : "start", class: "small" }, svg, mark.word.replaceAll("_", " "));
    });
    if (this.moment != null && this.moment >= a && this.moment <= b)
      make("line", { x1: x(this.moment), x2: x(this.moment), y1: TOP, y2: bottom, class: "cursor" }, svg);
    make("text", { x: SIDE, y: height - 4, class: "small" }, svg, `${a.toFixed(0)} s`);
    make("text", { x: WIDE - 60, y: height - 4, class: "small" }, svg, `${b.toFixed(0)} s`);
  }

  listen() {
    const svg = this.svg;
    const when = (event) => {
      const [a, b] = this.range();
      const box = svg.getBoundingClientRect();
      return Math.min(b, Math.max(a, a + ((((event.clientX - box.left) / box.width) * WIDE - SIDE) / (WIDE - SIDE - 8)) * (b - a)));
    };
    svg.addEventListener("pointerdown", (event) => { if (this.data) { this.drag = when(event); svg.setPointerCapture(event.pointerId); } });
    svg.addEventListener("pointerup", (event) => {
      if (this.drag == null) return;
      const [a, b] = this.range();
      const to = when(event);
      if (Math.abs(to - this.drag) > (b - a) / 50) this.stretch = [Math.min(to, this.drag), Math.max(to, this.drag)];
      else { this.moment = to; this.chosen(to); }
      this.drag = null;
      this.draw();
    });
    svg.addEventListener("dblclick", () => { this.stretch = null; this.draw(); });
  }

  row(t) {
    const rows = this.data.rows;
    let best = null;
    for (const row of rows) if (row[0] <= t) best = row; else break;
    return best;
  }
}
