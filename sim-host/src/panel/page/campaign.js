// A small campaign: what would come of the altered table, over faults and steps. Asks for it, hears how far it is, draws what came.
const $ = (id) => document.getElementById(id);
const node = (tag, text, cls) => {
  const one = document.createElement(tag);
  if (text !== undefined) one.textContent = text;
  if (cls) one.className = cls;
  return one;
};
const option = (value, text) => { const one = node("option", text); one.value = value; return one; };
// Between two looks at one that runs, ms.
const LOOK = 250;
const LETTER = { none: "·", alert: "a", accident: "A" };
const COLOUR = { none: "", alert: "doubt", accident: "bad" };

export class Campaign {
  constructor(keep) {
    Object.assign(this, { planned: "", shown: 0, looks: false, seen: false });
    for (const id of ["campaign_row", "campaign_faults"]) $(id).addEventListener("change", () => { this.planned = ""; if (this.frame) this.see(this.frame); });
    // While the run stands still no frame comes.
    new MutationObserver(() => { if (this.frame) this.see(this.frame); }).observe($("interlocks"), { attributes: true, attributeFilter: ["hidden"] });
    $("campaign_form").addEventListener("submit", (event) => { event.preventDefault(); this.start(); });
    $("campaign_stop").addEventListener("click", () => this.ask({ do: "stop" }).then((told) => this.say(told.wrong ?? "It stops after the runs at hand.")));
    for (const kind of ["json", "csv"]) $(`campaign_${kind}`).addEventListener("click", (event) => { event.preventDefault(); keep(`campaign.${kind}`, `campaign.${kind}`); });
  }

  faults(list) {
    $("campaign_faults").append(...list.map((one) => option(one.id, `${one.id} in each of its ways: ${one.component}, ${one.failure}`)));
  }

  say(text) { if ($("campaign_words").textContent !== text) $("campaign_words").textContent = text; }

  async ask(what) {
    try {
      const answer = await fetch("campaign", what && { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(what) });
      return await answer.json();
    } catch { return { wrong: "The server does not answer. Is it still running?" }; }
  }

  choice() { return { row: $("campaign_row").value, faults: $("campaign_faults").value }; }

  // With each frame: what is asked may be another question by now, where somebody looks at it.
  see(frame) {
    this.frame = frame;
    const open = !$("interlocks").hidden;
    if (open && !this.seen) this.hear();
    this.seen = open;
    const rows = frame.table.rows;
    if ($("campaign_row").options.length === 1) $("campaign_row").append(...rows.map((row) => option(row.id, `the table without ${row.id} alone`)));
    const altered = rows.flatMap((row) => [...(row.state === "switched off" ? [row.id] : []), ...row.points.filter((one) => one.moved).map((one) => [one.watch, one.now])]);
    const question = JSON.stringify([this.choice(), altered, frame.number]);
    if (!open || question === this.planned) return;
    this.planned = question;
    const not = frame.lesson ? "Not in a lesson, which is found out by hand: take a scenario under Begin anew to ask this."
      : this.choice().row || altered.length ? "" : "Nothing is altered: take a row out or move a set point above, or choose a table without one row.";
    $("campaign_start").disabled = Boolean(not);
    $("campaign_plan").textContent = not;
    if (!not) this.plan(question);
  }

  async plan(question) {
    $("campaign_plan").textContent = "The healthy job runs ...";
    const told = await this.ask({ do: "plan", ...this.choice() });
    if (question !== this.planned) return;
    $("campaign_plan").textContent = told.wrong ?? told.said.join(" ");
    $("campaign_start").disabled = Boolean(told.wrong);
  }

  async start() {
    this.say("");
    const told = await this.ask({ do: "start", ...this.choice() });
    await this.hear();
    if (told.wrong) this.say(told.wrong);
  }

  // One look, and the next as long as one runs.
  async hear() {
    if (this.looks) return;
    this.looks = true;
    const told = await this.ask();
    this.looks = false;
    const runs = told.stand === "runs";
    $("campaign_progress").hidden = $("campaign_stop").hidden = !runs;
    if (runs) {
      [$("campaign_progress").max, $("campaign_progress").value] = [told.of, told.known];
      setTimeout(() => this.hear(), LOOK);
      return;
    }
    if (told.wrong) this.say(told.wrong);
    if (told.stand === "stopped") this.say(`Stopped after ${told.known} of ${told.of} runs: what some of them say is not told.`);
    if (told.stand === "broken") this.say(`It broke off: ${told.why}`);
    $("campaign_outcome").hidden = told.stand !== "over";
    // A server that began anew counts from one again.
    if (told.stand !== "over") this.shown = 0;
    else if (told.number !== this.shown) {
      const found = await (await fetch("campaign.json")).json();
      if (found.wrong) return;
      this.shown = told.number;
      this.draw(found);
    }
  }

  draw(found) {
    this.say(`${found.title}, ${found.altered}: ${found.said.join(" ")}`);
    const worse = [];
    const table = node("table");
    table.append(node("caption", `Faults by steps of the job; in each cell the worst hazard with the table as it is, then ${found.altered}`));
    const head = table.createTHead().insertRow();
    head.append(this.head("col", "Fault"), ...found.steps.map((one) => this.head("col", `${one.words}, ${one.t_s.toFixed(0)} s`, "upright")));
    const body = table.createTBody();
    const healthy = body.insertRow();
    healthy.append(this.head("row", "none"), this.cell(found.healthy, "no fault", worse));
    healthy.lastChild.colSpan = found.steps.length;
    found.cells.forEach((row, at) => {
      const fault = found.faults[at];
      const line = body.insertRow();
      const name = this.head("row", `${fault.words.replace(/ tag=.*/, "").replace("mode=", "")} ${fault.device}`);
      name.title = fault.what;
      line.append(name, ...row.map((cell, step) => this.cell(cell, `${fault.words} in ${found.steps[step].words}`, worse)));
    });
    $("campaign_map").replaceChildren(table);
    $("campaign_worse").replaceChildren(...worse.map(([where, cell]) => {
      const item = node("li", `${where}: ${cell.worse.map((one) => `${one.hazard} ${one.level}, was ${one.was} (margin ${one.margin.toFixed(2)})`).join("; ")} `);
      item.append(node("code", cell.command));
      return item;
    }));
    $("campaign_none").hidden = worse.length !== 0;
    $("campaign_worse").hidden = worse.length === 0;
  }

  head(scope, text, cls) {
    const one = node("th");
    one.scope = scope;
    one.append(node("span", text, cls));
    return one;
  }

  // Both tables side by side; what is worse is filled and has a sign and a number, that of its command below.
  cell(cell, where, worse) {
    const one = node("td");
    const now = cell.now?.level;
    one.append(node("span", LETTER[cell.was.level], COLOUR[cell.was.level]), " ", node("span", LETTER[now] ?? "–", COLOUR[now] ?? ""));
    let sign = "";
    if (cell.worse.length) {
      worse.push([where, cell]);
      one.className = `worse ${cell.worse.some((other) => other.level === "accident") ? "accident" : "alert"}`;
      sign = `▲${worse.length}`;
    } else if (cell.better.length) sign = "▽";
    else if (cell.changed) sign = "~";
    if (sign) one.append(` ${sign}`);
    const words = (came) => (came ? (came.level === "none" ? "no hazard" : `${came.hazard} ${came.level}`) : "over before the fault");
    const note = cell.worse.length ? `, worse, number ${worse.length}` : cell.better.length ? ", better" : cell.changed ? ", goes otherwise" : "";
    one.setAttribute("aria-label", `${where}: ${words(cell.was)}, altered ${words(cell.now)}${note}`);
    return one;
  }
}
