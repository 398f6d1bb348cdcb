// The page: shows each frame that the server sends, and asks for what is pressed. It decides nothing.
import { Drawing } from "./drawing.js";
import { Trends } from "./trends.js";
import { drawOdds } from "./odds.js";
import { loadOrder, showOrder } from "./order.js";
import { readRecords, watchRecords } from "./records.js";
import { Campaign } from "./campaign.js";

const $ = (id) => document.getElementById(id);
const node = (tag, text, cls) => {
  const one = document.createElement(tag);
  if (text !== undefined) one.textContent = text;
  if (cls) one.className = cls;
  return one;
};
const ACTS = ["do_as_asked", "confirm", "decline", "pause", "resume", "abort", "reset", "emergency_stop", "release_stop", "open_door", "shut_door", "uncouple", "couple"];
const WORDS = { do_as_asked: "do what is asked, then yes", confirm: "yes", decline: "no", abort: "end the order" };
let frame = null, drawing = null, number = -1, fetching = false, catalogue = { faults: [], scenarios: [] };

function say(text) { $("message").textContent = text ?? ""; }

async function ask(what) {
  try {
    const answer = await fetch("do", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(what) });
    say(answer.ok ? "" : (await answer.json()).wrong);
    return answer.ok;
  } catch {
    say("The server does not answer. Is it still running?");
    return false;
  }
}

const campaign = new Campaign(keep);
const trends = new Trends($("trends"), (t) => { $("back_to").value = t.toFixed(2); });

async function history() {
  if (fetching) return;
  fetching = true;
  const have = trends.have();
  const from = have.way === frame.way ? have.rows : 0;
  try {
    const told = await (await fetch(`history?from=${from}`)).json();
    if (!trends.take(told)) trends.clear();
  } finally { fetching = false; }
}

// Only what changed is written, so that a focus or a selection stays where it is.
function fill(list, items, make) {
  const key = JSON.stringify(items);
  if (list.dataset.key === key) return;
  list.dataset.key = key;
  const inside = () => [...list.querySelectorAll("button, input, summary")];
  const held = inside().indexOf(document.activeElement);
  const open = [...list.querySelectorAll("details")].map((one) => one.open);
  list.replaceChildren(...items.map(make));
  list.querySelectorAll("details").forEach((one, at) => { one.open = open[at] ?? false; });
  if (held >= 0) inside()[held]?.focus({ preventScroll: true });
}

function cells(...all) {
  const row = node("tr");
  row.append(...all.map((one) => (one instanceof Node ? one : node("td", one))));
  return row;
}
const figure = (value, unit) => node("td", value == null ? "" : `${(Math.abs(value) < 10 ? value.toFixed(2) : value.toFixed(1))} ${unit}`, "number");

const margin = (value, when) => node("td", value.toFixed(2) + when, value <= 0 ? "bad" : value <= 0.5 ? "doubt" : "");

function show() {
  const f = frame;
  $("title").textContent = f.title;
  const pace = f.running ? `${f.went.toFixed(f.went < 10 ? 1 : 0)} x` : f.stand === "running" ? "stands still" : f.stand;
  $("clock").textContent = `${f.t.toFixed(2)} s · ${f.job.phase ?? f.job.state}${f.job.step ? " / " + f.job.step : ""} · lamp ${f.lamp} · ${pace}`;
  $("run").textContent = f.running ? "Stop" : "Run";
  if (document.activeElement !== $("speed")) $("speed").value = String(f.speed);
  if (document.activeElement !== $("language")) $("language").value = f.language;
  if (f.wrong) say(f.wrong);
  drawing?.show(f);
  fill($("job"), [["order", f.job.state], ["phase", f.job.phase ?? "none"], ["done", f.job.done == null ? "" : `${(f.job.done * 100).toFixed(0)} %`], ["left", f.job.left_s == null ? "" : `${Math.ceil(f.job.left_s / 60)} min, an estimate`]],
    ([a, b]) => { const one = document.createDocumentFragment(); one.append(node("dt", a), node("dd", b)); return one; });
  if ($("question").textContent !== (f.job.question ?? "")) $("question").textContent = f.job.question ?? "";
  fill($("told"), f.told.toReversed(), (one) => node("li", `${one.t.toFixed(1)} s  ${one.text}`));
  fill($("readings"), f.readings.map((one) => ({ ...one, value: Number(one.value.toFixed(3)), truth: one.truth == null ? null : Number(one.truth.toFixed(3)) })), (one) => {
    const cls = one.quality === "good" ? "" : one.quality === "bad" || one.quality === "none" ? "bad" : "doubt";
    const truth = figure(one.truth, one.unit);
    truth.classList.add("truth");
    return cells(one.tag, one.what, figure(one.value, one.unit), node("td", one.why ? `${one.quality}: ${one.why}` : one.quality, cls), truth);
  });
  fill($("switches"), f.switches, (one) => node("li", `${one.tag} ${one.word}`, one.good ? "" : "bad"));
  $("first").textContent = f.table.first ? `First cause: ${f.table.first}` : "No row is tripped.";
  fill($("rows"), f.table.rows, (row) => {
    const more = node("details");
    more.append(node("summary", `${row.id}: ${row.causes[0]}${row.causes.length > 1 ? ", or ..." : ""}`), node("p", row.why), node("p", "Acts when: " + row.causes.join("; or ")), node("p", row.effects), node("p", "Clears: " + row.clear));
    const first = node("td");
    first.append(more);
    const there = node("input");
    there.type = "checkbox";
    there.checked = row.state !== "switched off";
    there.setAttribute("aria-label", `${row.id} is there`);
    there.addEventListener("change", () => ask({ do: "without", row: row.id, off: !there.checked }));
    const last = node("td");
    last.append(there);
    return cells(first, node("td", row.state, row.state.startsWith("tripped") ? "bad" : row.state === "switched off" ? "doubt" : ""), String(row.count || ""), last);
  });
  fill($("faults"), f.faults, (one) => {
    const words = `${one.id} ${one.tag}, ${one.what}${one.mode ? ", " + one.mode : ""}${one.severity ? ", " + one.severity : ""}: ` + (one.acts ? `acts since ${one.began.toFixed(1)} s ` : one.ended != null ? `over since ${one.ended.toFixed(1)} s` : "to come ");
    const item = node("li", words, one.acts ? "doubt" : "");
    if (one.ended == null) {
      const heal = node("button", `Heal ${one.id}`);
      heal.addEventListener("click", () => ask({ do: "heal", place: one.place }));
      item.append(heal);
    }
    return item;
  });
  fill($("hazards"), f.hazards.toSorted((a, b) => (a.not_judged ? 2 : a.margin) - (b.not_judged ? 2 : b.margin)), (one) =>
    cells(one.id, one.title, one.now == null ? node("td", one.idle, "idle") : margin(one.now, ""), one.not_judged ? node("td", "") : margin(one.margin, ` at ${one.at.toFixed(0)} s`)));
  fill($("ledger"), f.job.ledger, ([what, grams]) => cells(what, node("td", grams.toFixed(1), "number")));
  fill($("stock"), Object.entries(f.truth.stock_g).map(([what, grams]) => [what, grams.toFixed(1)]), ([what, grams]) => cells(what, node("td", grams, "number")));
  showOrder(f, fill, cells, node);
  fill($("deeds"), f.deeds, (one) => node("li", `${one.t.toFixed(2)} s  ${one.what.replaceAll("_", " ")}${one.until == null ? "" : `, healed at ${one.until.toFixed(2)} s`}`));
  $("hash").textContent = f.hash;
  lesson(f.lesson);
  watchRecords(f);
  points(f.table.rows);
  campaign.see(f);
  fill($("odds_of"), f.events, (id) => { const option = node("option", id); option.value = id; return option; });
  $("odds_form").hidden = f.events.length === 0;
  $("no_event").hidden = f.events.length !== 0;
  const have = trends.have();
  if (JSON.stringify(trends.marks) !== JSON.stringify(f.marks)) { trends.marks = f.marks; if (trends.data) trends.draw(); }
  if (have.way !== f.way || have.rows < f.rows_drawn) history();
}

let movable = [];
function points(rows) {
  movable = rows.flatMap((row) => row.points.map((point) => ({ ...point, row: row.id })));
  const words = (one) => `${one.row} ${one.watch.replaceAll("_", " ")}: ${one.now} ${one.unit}${one.moved ? ` (table: ${one.table})` : ""}`;
  const key = JSON.stringify(movable);
  if ($("point").dataset.key === key) return;
  $("point").dataset.key = key;
  const was = $("point").value;
  $("point").replaceChildren(...movable.map((one) => { const option = node("option", words(one)); option.value = one.watch; return option; }));
  if (was) $("point").value = was;
  point();
  const moved = movable.filter((one) => one.moved);
  $("point_words").textContent = moved.length ? "Moved: " + moved.map(words).join("; ") : "Every set point is where the table has it.";
}
function point() {
  const one = movable.find((point) => point.watch === $("point").value);
  if (!one) return;
  $("point_unit").textContent = one.unit;
  if (document.activeElement !== $("point_to")) $("point_to").value = one.now;
}

async function odds(event) {
  event.preventDefault();
  $("odds_words").textContent = "Forks run ...";
  $("odds_drawing").replaceChildren();
  const question = { of: $("odds_of").value, remedy: $("odds_remedy").value, back: Number($("odds_back").value) };
  let told;
  try {
    const answer = await fetch("odds", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(question) });
    told = await answer.json();
  } catch { told = { wrong: "The server does not answer. Is it still running?" }; }
  if (told.wrong) { $("odds_words").textContent = told.wrong; return; }
  const done = $("odds_remedy").selectedOptions[0].textContent;
  $("odds_words").textContent = told.inevitable_s == null
    ? `${told.of} came about at ${told.event_s.toFixed(1)} s. There was no moment from which on it came about in every fork in which somebody had ${done}.`
    : `${told.of} came about at ${told.event_s.toFixed(1)} s. From ${told.inevitable_s.toFixed(1)} s on it came about in every fork, though somebody had ${done}.`;
  drawOdds($("odds_drawing"), told);
}

function lesson(one) {
  $("at_lesson").hidden = !one;
  if (!one) return;
  $("lesson_title").textContent = one.title;
  $("lesson_about").textContent = `${one.about} Some ${one.minutes} min.`;
  $("lesson_task").textContent = one.task;
  $("lesson_question").hidden = !one.question;
  $("lesson_ask").textContent = one.question ?? "";
  fill($("goals"), one.goals, (goal) => node("li", `${goal.stand}: ${goal.name}`, goal.stand === "holds" ? "" : "doubt"));
  const answered = one.question ? (one.answered ? " The answer is right." : one.tried ? ` Answers tried: ${one.tried}.` : " The question is open.") : "";
  const stand = (one.solved_s == null ? "Not solved yet." : `Solved at ${one.solved_s.toFixed(1)} s.`) + answered;
  if ($("lesson_stand").textContent !== stand) $("lesson_stand").textContent = stand;
  fill($("hints"), one.hints, (hint) => node("li", hint));
  $("hint").hidden = !one.may_hint;
  $("hint").disabled = one.hints_left === 0;
}

let due = false;
function hear(event) {
  frame = JSON.parse(event.data);
  if (frame.t === undefined) return;
  if (frame.number !== number) {
    number = frame.number;
    trends.clear();
    fetch("drawing").then((one) => one.json()).then((spec) => { if (!spec.wrong) { drawing = new Drawing($("drawing"), spec); drawing.show(frame); } });
    loadOrder(number);
    $("by_hand").checked = frame.by_hand;
    if (frame.lesson) $("lesson").value = frame.lesson.name;
    chosen_lesson();
  }
  if (!due) { due = true; requestAnimationFrame(() => { due = false; show(); window.frames_shown = (window.frames_shown ?? 0) + 1; }); }
}

function tabs() {
  const views = [...document.querySelectorAll("[data-tab]")];
  const buttons = views.map((view, at) => {
    const tab = node("button", view.dataset.tab);
    tab.id = `tab_${view.id}`;
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", view.id);
    view.setAttribute("role", "tabpanel");
    view.setAttribute("aria-labelledby", tab.id);
    tab.addEventListener("click", () => pick(at));
    tab.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (step) { const to = (at + step + views.length) % views.length; pick(to); buttons[to].focus(); }
    });
    return tab;
  });
  const pick = (at) => views.forEach((view, one) => {
    view.hidden = one !== at;
    buttons[one].setAttribute("aria-selected", one === at);
    buttons[one].tabIndex = one === at ? 0 : -1;
  });
  $("tabs").append(...buttons);
  pick(Math.max(0, views.findIndex((view) => `#${view.id}` === location.hash)));
}

function options(select, list, word) {
  select.replaceChildren(...list.map((one) => { const option = node("option", word(one)); option.value = one.id ?? one.name ?? one; return option; }));
}
const chosen = () => catalogue.faults.find((one) => one.id === $("fault").value);
function fault() {
  const one = chosen();
  options($("mode"), one.modes, (mode) => mode.name || "the only one");
  options($("tag"), one.tags, (tag) => tag);
  mode();
}
function mode() {
  const one = chosen().modes.find((way) => way.name === $("mode").value);
  $("severity").value = one?.severity ?? "";
  $("severity").disabled = !one?.severity;
  $("fault_words").textContent = one ? `What it does: ${one.acts}` : "";
}

function chosen_lesson() {
  const one = catalogue.lessons?.find((lesson) => lesson.name === $("lesson").value);
  $("lesson_words").textContent = one ? `${one.about} Some ${one.minutes} min.` : "";
}

// A file that the server hands over, kept by the browser under this name.
async function keep(address, name) {
  const answer = await fetch(address);
  if (!answer.ok) { say((await answer.json()).wrong); return; }
  say("");
  const link = node("a");
  link.href = URL.createObjectURL(await answer.blob());
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
}

async function begin() {
  tabs();
  for (const act of ACTS) {
    const one = node("button", WORDS[act] ?? act.replaceAll("_", " "));
    one.dataset.act = act;
    one.addEventListener("click", () => ask({ do: "act", act }));
    $("acts").append(one);
  }
  document.querySelectorAll("[data-do]").forEach((one) => one.addEventListener("click", () => ask(JSON.parse(one.dataset.do))));
  $("run").addEventListener("click", () => ask({ do: frame?.running ? "pause" : "run" }));
  $("speed").addEventListener("change", () => ask({ do: "speed", x: Number($("speed").value) }));
  $("language").addEventListener("change", () => ask({ do: "language", to: $("language").value }));
  $("back").addEventListener("click", () => ask({ do: "back", t: Number($("back_to").value) }));
  $("restart").addEventListener("click", () => ask({ do: "restart", by_hand: $("by_hand").checked, ...($("scenario").value ? { scenario: $("scenario").value } : {}) }));
  $("stretch").addEventListener("submit", (event) => { event.preventDefault(); trends.show(Number($("stretch_from").value), Number($("stretch_to").value)); });
  $("whole").addEventListener("click", () => trends.show(0, 0));
  $("back_to").addEventListener("change", () => trends.read($("back_to").value === "" ? NaN : Number($("back_to").value)));
  $("show_truth").addEventListener("change", () => $("readings_tab").classList.toggle("with_truth", $("show_truth").checked));
  $("save").addEventListener("click", (event) => { event.preventDefault(); keep("scenario.toml", "played.toml"); });
  $("hand_in").addEventListener("click", (event) => { event.preventDefault(); keep("lesson.json", "lesson.json"); });
  $("hint").addEventListener("click", () => ask({ do: "hint" }));
  $("lesson").addEventListener("change", chosen_lesson);
  $("begin_lesson").addEventListener("click", () => ask({ do: "lesson", name: $("lesson").value }));
  $("point").addEventListener("change", () => { $("point_to").value = ""; point(); });
  $("move_point").addEventListener("click", () => ask({ do: "set_point", watch: $("point").value, to: Number($("point_to").value) }));
  $("restore_point").addEventListener("click", () => ask({ do: "set_point", watch: $("point").value, to: movable.find((one) => one.watch === $("point").value).table }));
  $("exchange").addEventListener("submit", (event) => { event.preventDefault(); ask({ do: "exchange", part: $("part").value, code: $("code").value }); });
  $("odds_form").addEventListener("submit", odds);
  $("lesson_question").addEventListener("submit", (event) => { event.preventDefault(); ask({ do: "answer", text: $("lesson_answer").value }); });
  catalogue = await (await fetch("catalogue")).json();
  options($("fault"), catalogue.faults, (one) => `${one.id} ${one.component}: ${one.failure}`);
  for (const name of catalogue.scenarios) { const one = node("option", name); one.value = name; $("scenario").append(one); }
  options($("lesson"), catalogue.lessons, (one) => one.title);
  campaign.faults(catalogue.faults);
  if (frame?.lesson) $("lesson").value = frame.lesson.name;
  chosen_lesson();
  $("fault").addEventListener("change", fault);
  $("mode").addEventListener("change", mode);
  $("break").addEventListener("click", () => ask({ do: "break", id: $("fault").value, mode: $("mode").value, tag: $("tag").value, severity: $("severity").disabled ? "" : $("severity").value }));
  fault();
}

const stream = new EventSource("stream");
stream.addEventListener("message", hear);
stream.addEventListener("error", () => say("The stream from the server is broken; it is tried again."));
stream.addEventListener("open", () => { number = -1; say(""); });
readRecords({ fill, cells, node, level: (word) => (word === "DUE" ? "bad" : word === "due soon" ? "doubt" : "") });
begin();
