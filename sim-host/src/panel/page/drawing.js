// The drawing: places as boxes, elements as lines with an ISA-5.1 symbol each, laid out by the server.
const NS = "http://www.w3.org/2000/svg";
const HALF = { x: 55, y: 28 };

export function make(tag, attributes, parent, text) {
  const one = document.createElementNS(NS, tag);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
  if (text !== undefined) one.textContent = text;
  if (parent) parent.append(one);
  return one;
}

const SHAPES = {
  valve: "M-11,-8 L11,8 L11,-8 L-11,8 Z",
  hand: "M-11,-8 L11,8 L11,-8 L-11,8 Z M0,0 L0,-12 M-6,-12 L6,-12",
  relief: "M-8,11 L8,11 L0,0 Z M0,0 L11,-8 L11,8 Z",
  check: "M-9,-7 L9,0 L-9,7 Z M9,-7 L9,7",
  compressor: "M0,-13 A13,13 0 1 0 0.1,-13 Z M-8,-10 L8,-4 M-8,10 L8,4",
  pump: "M0,-13 A13,13 0 1 0 0.1,-13 Z M-11,-6 L0,12 L11,-6",
  fan: "M0,-13 A13,13 0 1 0 0.1,-13 Z M-9,0 Q-4,-8 0,0 Q4,8 9,0",
  heater: "M-14,-8 L14,-8 L14,8 L-14,8 Z M-9,-8 L-9,8 M-3,-8 L-3,8 M3,-8 L3,8 M9,-8 L9,8",
  restriction: "M-8,-5 Q0,-1 8,-5 M-8,5 Q0,1 8,5",
  draw: "M-5,-5 L5,0 L-5,5 Z",
  heat: "M-5,-5 L5,5 M-5,5 L5,-5",
};

// Where a line from the middle of a box to another point leaves the box.
function edge(box, to) {
  const [dx, dy] = [to.x - box.x, to.y - box.y];
  const reach = Math.min(HALF.x / Math.max(Math.abs(dx), 1e-9), HALF.y / Math.max(Math.abs(dy), 1e-9));
  return [box.x + dx * Math.min(reach, 1), box.y + dy * Math.min(reach, 1)];
}

export class Drawing {
  constructor(root, spec) {
    root.replaceChildren();
    this.svg = make("svg", { viewBox: `0 ${spec.top} ${spec.width} ${spec.height - spec.top}`, role: "img", "aria-label": "Piping and instrumentation drawing" }, root);
    const boxes = Object.fromEntries(spec.places.map((one) => [one.name, one]));
    this.elements = new Map();
    this.places = new Map();
    const beside = new Map();
    // Labels come last, so that no line and no box lies over one.
    const labels = make("g", { class: "labels" });
    for (const one of spec.elements) this.element(one, boxes, beside, labels);
    for (const one of spec.places) this.place(one);
    this.svg.append(labels);
  }

  element(one, boxes, beside, labels) {
    const from = boxes[one.from], to = boxes[one.to];
    if (!from) return;
    let line = one.line, at = one.at;
    if (!line) {
      const pair = [one.from, one.to].sort().join();
      const many = beside.get(pair) ?? 0;
      beside.set(pair, many + 1);
      const end = to ?? { x: from.x + 75, y: from.y + 45 };
      const off = many * 18;
      const upright = Math.abs(end.x - from.x) < Math.abs(end.y - from.y);
      const shifted = (box) => (upright ? { ...box, x: box.x + 2 * off } : { ...box, y: box.y + off });
      line = to ? [edge(shifted(from), shifted(end)), edge(shifted(to), shifted(from))] : [edge(from, end), [end.x, end.y]];
      at = [(line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2];
    }
    const thin = ["check", "relief", "draw", "heat"].includes(one.symbol) ? " thin" : "";
    const group = make("g", {}, this.svg);
    const title = make("title", {}, group, one.name);
    const pipe = make("polyline", { points: line.map((p) => p.join(",")).join(" "), class: "pipe" + thin }, group);
    const symbol = make("path", { d: SHAPES[one.symbol] ?? SHAPES.restriction, transform: `translate(${at[0]} ${at[1]})`, class: "symbol" }, group);
    // Beside a line that goes up or aslant, around one that goes across.
    const across = line.some((p, n) => n > 0 && Math.abs(p[1] - line[n - 1][1]) < 1 && Math.abs(p[1] - at[1]) < 1);
    const side = one.side ?? (across ? "around" : "right");
    const [x, anchor] = { left: [at[0] - 19, "end"], right: [at[0] + 19, "start"], around: [at[0], "middle"] }[side];
    const [above, below] = side === "around" ? [-16, 25] : [-1, 13];
    const text = (y, cls, words) => make("text", { x, y: at[1] + y, "text-anchor": anchor, class: cls }, labels, words);
    text(above, "small", one.name.replaceAll("_", " "));
    const flow = text(below, "small figure", "");
    const tags = one.name.split("/")[0].split("+");
    this.elements.set(one.name, { title, pipe, symbol, flow, thin, tags, kind: one.symbol });
  }

  place(one) {
    const group = make("g", {}, this.svg);
    const [x, y] = [one.x - HALF.x, one.y - HALF.y];
    make("rect", { x, y, width: 2 * HALF.x, height: 2 * HALF.y, rx: one.kind === "volume" ? 10 : 2, class: "place" }, group);
    const level = make("rect", { x: x + 2, y: one.y + HALF.y - 2, width: 2 * HALF.x - 4, height: 0, class: "level" }, group);
    make("text", { x: one.x, y: one.y - 14, "text-anchor": "middle" }, group, one.name.replaceAll("_", " "));
    const first = make("text", { x: one.x, y: one.y + 3, "text-anchor": "middle", class: "figure" }, group, "");
    const second = make("text", { x: one.x, y: one.y + 18, "text-anchor": "middle", class: "figure" }, group, "");
    this.places.set(one.name, { level, first, second, bottom: one.y + HALF.y - 2, kind: one.kind });
  }

  show(frame) {
    const { places, elements } = frame.truth;
    for (const [name, parts] of this.places) {
      const is = places[name];
      if (!is) continue;
      const bar = is.p == null ? "" : is.p < 5000 ? `${(is.p / 100).toFixed(1)} mbar` : `${(is.p / 1e5).toFixed(2)} bar`;
      const mass = is.m == null ? (is.oil == null ? "" : `${(is.oil * 1e3).toFixed(0)} g oil`) : `${(is.m * 1e3).toFixed(is.m < 0.1 ? 1 : 0)} g`;
      parts.first.textContent = [bar, is.t == null ? "" : `${(is.t - 273.15).toFixed(1)} °C`].filter(Boolean).join("  ");
      parts.second.textContent = mass;
      const share = Math.max(0, Math.min(1, is.level ?? 0)) * (2 * HALF.y - 4);
      parts.level.setAttribute("height", share);
      parts.level.setAttribute("y", parts.bottom - share);
    }
    const on = new Set(frame.on), acting = new Set(frame.acting);
    for (const [name, parts] of this.elements) {
      const is = elements[name] ?? {};
      const flow = is.flow ?? 0;
      const flows = Math.abs(flow) > 1e-7;
      const driven = ["valve", "compressor", "pump", "fan", "heater"].includes(parts.kind);
      const open = driven && parts.tags.some((tag) => /^(XV|C|P|K|H)-/.test(tag))
        ? (parts.kind === "heater" ? parts.tags.some((tag) => acting.has(tag)) : parts.tags.every((tag) => acting.has(tag)))
        : (is.open ?? 0) > 0.01 && flows;
      const astray = driven && parts.tags.some((tag) => on.has(tag) !== acting.has(tag));
      parts.symbol.setAttribute("class", "symbol" + (open ? " open" : "") + (astray ? " astray" : ""));
      parts.pipe.setAttribute("class", "pipe" + parts.thin + (flows ? " flows" : ""));
      parts.flow.textContent = flows ? `${(Math.abs(flow) * 1e3).toPrecision(2)} g/s` : "";
    }
  }
}
