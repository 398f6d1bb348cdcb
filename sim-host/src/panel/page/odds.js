// The share of forks in which something came about, over the moment at which somebody stepped in: drawn, and as a table.
import { make } from "./drawing.js";

const [WIDE, HIGH, SIDE, FOOT] = [480, 150, 40, 34];

export function drawOdds(root, { odds, event_s }) {
  const [a, b] = [odds[0].t, Math.max(event_s, odds.at(-1).t, odds[0].t + 1)];
  const x = (t) => SIDE + ((t - a) / (b - a)) * (WIDE - SIDE - 8);
  const y = (share) => 8 + (1 - share) * (HIGH - FOOT - 8);
  const svg = make("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": "Share of forks in which it came about, over the moment of stepping in; the table below has the figures" }, root);
  for (const share of [0, 0.5, 1]) {
    make("line", { x1: SIDE, x2: WIDE - 8, y1: y(share), y2: y(share), class: "grid" }, svg);
    make("text", { x: 2, y: y(share) + 4, class: "small" }, svg, `${share * 100} %`);
  }
  make("polyline", { points: odds.map((one) => `${x(one.t).toFixed(1)},${y(one.came / one.of).toFixed(1)}`).join(" "), class: "curve reads c0" }, svg);
  for (const one of odds) make("circle", { cx: x(one.t), cy: y(one.came / one.of), r: 2.5, class: "symbol" }, svg);
  make("line", { x1: x(event_s), x2: x(event_s), y1: 8, y2: HIGH - FOOT, class: "mark trip" }, svg);
  make("text", { x: SIDE, y: HIGH - 18, class: "small" }, svg, `${a.toFixed(1)} s`);
  make("text", { x: WIDE - 70, y: HIGH - 18, class: "small" }, svg, `${b.toFixed(1)} s`);
  make("text", { x: SIDE, y: HIGH - 4, class: "small" }, svg, "moment of stepping in; red: it came about in this run");
  const table = document.createElement("table");
  const head = table.createTHead().insertRow();
  for (const word of ["Moment", "Came about"]) { const cell = document.createElement("th"); cell.textContent = word; head.append(cell); }
  const body = table.createTBody();
  for (const one of odds) {
    const row = body.insertRow();
    row.insertCell().textContent = `${one.t.toFixed(2)} s`;
    row.insertCell().textContent = `${one.came} of ${one.of}`;
  }
  const more = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = "The figures";
  more.append(summary, table);
  root.append(more);
}
