// The order: its phases with how far each is, and its text, which the server checks and begins a run with.
const $ = (id) => document.getElementById(id);
let number = -1, loaded = "";

// Longer than this and the server does not read it.
const LONGEST = 4096;

async function ask(begin) {
  const body = JSON.stringify({ do: "order", text: $("order_text").value, begin });
  if (new TextEncoder().encode(body).length > LONGEST) {
    tell(`The text is too long: with what goes around it, it may have ${LONGEST} bytes. Leave out comments.`, true);
    return;
  }
  try {
    const answer = await fetch("do", { method: "POST", headers: { "content-type": "application/json" }, body });
    if (!answer.ok) tell((await answer.json()).wrong, true);
    else if (!begin) tell("Nothing is wrong with this order.", false);
  } catch {
    tell("The server does not answer. Is it still running?", true);
  }
}

function tell(words, wrong) {
  $("order_words").textContent = words;
  $("order_words").classList.toggle("bad", wrong);
  if (wrong) $("order_text").setAttribute("aria-invalid", "true");
  else $("order_text").removeAttribute("aria-invalid");
}

// For each run from time 0, and when the server was away: what is typed stays where it is the same run still.
export async function loadOrder(of, anyway) {
  const told = await (await fetch("order")).json();
  const text = $("order_text");
  const typed = of === number && text.value !== loaded && !anyway;
  [number, loaded] = [of, told.text ?? ""];
  if (typed) return;
  text.value = loaded;
  text.disabled = $("order_check").disabled = $("order_begin").disabled = Boolean(told.stays);
  tell(told.stays ? `It stays as it is: ${told.stays}.` : told.changed ?? "", false);
}

export function showOrder(frame, fill, cells, node) {
  fill($("plan"), frame.job.plan, (one) => {
    const stand = node("td", one.stand, one.is_done && !/^(done|skipped)/.test(one.stand) ? "doubt" : "");
    const row = cells(one.phase.replaceAll("_", " "), one.set, stand, node("td", one.s == null ? "" : `${(one.s / 60).toFixed(1)} min`, "number"));
    if (one.stand === "at hand") row.setAttribute("aria-current", "step");
    return row;
  });
}

$("order_form").addEventListener("submit", (event) => { event.preventDefault(); ask(true); });
$("order_check").addEventListener("click", () => ask(false));
$("order_again").addEventListener("click", () => loadOrder(number, true));
