// What the record store holds: asked for while it is looked at and after it has changed, once a second at most.
const $ = (id) => document.getElementById(id);
const LOOK_MS = 250, LEAST_MS = 1000;
let shown = null, wanted = null, asked = 0, fetching = false;

export function watchRecords(frame) { wanted = `${frame.number}/${frame.way}/${frame.stored}`; }

function seen() { return !$("records_tab").hidden || !$("due_tab").hidden; }

export function readRecords({ fill, cells, node, level }) {
  const list = (id, items) => fill($(id), items, ([what, text]) => cells(what, node("td", text)));
  const show = (told) => {
    $("records_wrong").textContent = told.wrong ?? "";
    $("records_held").hidden = Boolean(told.wrong);
    if (told.wrong) return;
    const state = [`Read from the part at ${told.t.toFixed(2)} s, as a start would read it: ${told.found}.`, `The station's clock shows ${told.clock}.`];
    if (told.unpowered) state.push("The part has no power at the moment.");
    state.push(...told.damaged.map((one) => `Damaged: ${one}.`));
    $("records_state").textContent = state.join(" ");
    list("counters", told.counters);
    list("calibrations", told.calibrations);
    list("codes", told.codes);
    const some = (of, all, what) => (all === 0 ? `No ${what} is on record yet.` : of < all ? `The newest ${of} of ${all}.` : "");
    $("services_words").textContent = [some(told.services.length, told.services_in_all, "service"), told.running ?? "", `Room for ${told.services_room} more.`].filter(Boolean).join(" ");
    fill($("services"), told.services, (one) => node("li", `${one.number}: ${one.text}`));
    $("events_words").textContent = some(told.events.length, told.events_in_all, "event");
    fill($("events"), told.events, (one) => node("li", `${one.number}: ${one.time}  ${one.text}`));
    fill($("due"), told.due, (one) => cells(one.name, node("td", one.level, level(one.level)), one.used, one.left));
  };
  const look = async () => {
    if (!seen() || fetching || wanted === null || wanted === shown || performance.now() - asked < LEAST_MS) return;
    fetching = true;
    asked = performance.now();
    const now = wanted;
    try {
      show(await (await fetch("records")).json());
      shown = now;
    } catch {
      // The page says of the stream that it is broken; this is tried again.
    } finally { fetching = false; }
  };
  setInterval(look, LOOK_MS);
}
